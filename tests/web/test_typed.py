"""A form of the book that is refused stands there again with all that was typed into it."""

import re
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from supervisor.book import lots
from supervisor.book.writing import open_book
from tests.supervisor.book.shop import Shop, story
from tests.web.conftest import Browser
from tests.web.test_once import planned

__all__ = ["planned"]

WEIGHED: dict[str, str] = {
    "mass": "1,9x", "form": "old_casting", "origin": "wheel", "alloy": "A356.0", "alloy_other": "413.0",
    "certainty": "marked", "surface": "bare", "shape": "open", "longest_mm": "60,5",
    "name": 'rims "large" & <small>', "note": "from Åse",
}  # fmt: skip


class Fields(HTMLParser):
    """What the form of a page that goes to an address would send as it stands there, as a browser reads it."""

    def __init__(self, html: str, action: str) -> None:
        super().__init__()
        self.sends: dict[str, list[str]] = {}
        self.unfolded = False
        self._action, self._inside, self._select = action, False, ""
        self._folded: list[bool] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "details":
            self._folded.append("open" not in given)
        if tag == "form":
            self._inside = given.get("action") == self._action
            self.unfolded |= self._inside and not any(self._folded)
        if tag == "select":
            self._select = given["name"]
        if not self._inside:
            return
        off = given.get("type") in ("radio", "checkbox") and "checked" not in given
        if tag == "input" and not off:
            self.sends.setdefault(given["name"], []).append(given.get("value", ""))
        if tag == "option" and "selected" in given:
            self.sends.setdefault(self._select, []).append(given["value"])

    def handle_endtag(self, tag: str) -> None:
        if tag == "details":
            self._folded.pop()
        self._inside &= tag != "form"


def refused(phone: Browser, action: str, **form: Any) -> str:
    """Send a form that is refused: the page that it leads to."""
    phone.takes_s = 1.0
    html = str(phone.get(phone.post(action, data=form).headers["Location"]).text)
    assert "Not done." in html
    return html


def stands(html: str, action: str) -> dict[str, list[str]]:
    found = Fields(html, action)
    assert found.unfolded
    return {name: values for name, values in found.sends.items() if name != "once"}


def test_a_lot_that_is_refused_for_its_mass_is_not_described_again(phone: Browser) -> None:
    html = refused(phone, "/lots", **WEIGHED)
    assert stands(html, "/lots") == {name: [value] for name, value in WEIGHED.items()}
    assert re.search(r'<details [^>]*id="more" open>', html)  # something was typed there
    done = phone.post("/lots", data={**WEIGHED, "mass": "1.9"}).headers["Location"]
    assert stands(phone.get(done).text, "/lots")["mass"] == [""]
    assert stands(phone.get("/lots/new").text, "/lots")["mass"] == [""]


def test_nothing_but_that_form_is_another_on_the_page(phone: Browser) -> None:
    html, plain = refused(phone, "/lots", **WEIGHED), phone.get("/lots/new").text
    form = re.compile(r"<form .*</form>|<p class=\"answer.*?</p>|[0-9a-f]{32}|data-[a-z]+=\"[^\"]*\"", re.S)
    parts = [re.sub(r"\s+", " ", re.sub(r"\d\d:\d\d:\d\d", "", form.sub("", each))) for each in (html, plain)]
    assert parts[0] == parts[1]


def test_every_mass_of_a_plan_stands_there_again(planned: Browser) -> None:
    masses = {"lot": ["L-2", "L-1"], "kg": ["0.45", "1,x"]}  # as the page has them
    planned.takes_s = 1.0
    planned.post("/lots", data={"mass": "1", "form": "solid_offcut"})
    assert stands(refused(planned, "/plan", **masses), "/plan") == masses
    more = {"mould": "M-2", "name": "bars", "profile": "example/ingots-2kg"}
    shown = stands(refused(planned, "/plan/P-001", **masses, **more), "/plan/P-001")
    assert {name: shown[name] for name in ("lot", "kg", "mould", "name")} == {
        **masses, "mould": ["M-2"], "name": ["bars"],
    }  # fmt: skip


def test_where_the_rows_are_others_by_now_no_mass_comes_to_stand_in_the_wrong_one(planned: Browser, data: Path) -> None:
    planned.takes_s = 1.0
    planned.post("/lots", data={"mass": "1", "form": "solid_offcut"})
    answer = planned.post("/plan", data={"lot": ["L-2", "L-1"], "kg": ["0.45", "1,x"]}).headers["Location"]
    with open_book(data / "book.db", who="Bo", sent_from="page", utc_ms=1_800_000_000_000) as book:
        (lot,) = [each for each in lots.lots(book) if each.code == "L-2"]
        lots.weigh(book, lot.id, 0.0)
    assert stands(planned.get(answer).text, "/plan") == {"lot": ["L-1"], "kg": [""]}


@pytest.mark.parametrize(
    ("action", "form"),
    [
        ("/lots/L-30/dry", {"at_c": "160", "minutes": "an hour"}),
        ("/ingots/A-096-1/dry", {"at_c": "20", "minutes": "120"}),
        ("/ingots/A-096-1/use", {"kg": "9", "text": "a knob"}),
        ("/lots/L-30/weigh", {"mass": "six"}),
        ("/lots/L-30/describe", {"alloy": "6082", "certainty": "marked", "surface": "bare", "shape": "solid",
                                 "longest_mm": "long", "note": "x" * 20}),
        ("/melts/A-098/count", {"masses": "0.7 0,6y", "maker": "Bo"}),
        ("/melts/A-098/dross", {"dross": "0.06", "splash": "?"}),
        ("/metal/quarantine", {"name": "L-99", "reason": "lead found"}),
    ],
)  # fmt: skip
def test_any_form_of_the_book_stands_there_again_and_unfolded(
    phone: Browser, data: Path, action: str, form: dict[str, str]
) -> None:
    shop = Shop(data)
    story(shop)
    shop.melt("A-098", backend="paper", L_30=0.4)
    assert stands(refused(phone, action, **form), action) == {name: [value] for name, value in form.items()}


def test_ticks_that_say_that_somebody_looked_are_given_anew(planned: Browser) -> None:
    html = refused(planned, "/plan/P-001/take", **{"yes chips": "yes"})
    assert stands(html, "/plan/P-001/take") == {}


def test_what_is_too_long_is_not_kept(phone: Browser) -> None:
    html = refused(phone, "/lots", **{**WEIGHED, "note": "x" * 9000})
    assert stands(html, "/lots")["mass"] == [""]
    assert "x" * 9000 not in unescape(html)
