"""A form of the book that is sent twice, as by a double tap, is written once, and both taps get the same answer."""

import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from flask import Flask

from supervisor.book import lots
from supervisor.book.plans import plans
from supervisor.book.writing import open_book, read_book
from supervisor.firing.commands import Prepare
from tests.supervisor.book.shop import Shop, story
from tests.web.conftest import Browser
from tests.web.looking import said
from tests.web.scripted import Scripted
from tests.web.snapshots import HEATING
from tests.web.test_plan import PLATE, planned

__all__ = ["planned"]

ONCE = re.compile(r'<input type="hidden" name="once" value="([^"]+)"')
FORM = re.compile(r'<form class="(?:entry|levers)[^"]*" method="post" action="([^"]+)".*?</form>', re.S)


def once_of(phone: Browser, path: str, action: str) -> str:
    """The hidden field of the form of that page which goes to that address."""
    (form,) = {found[1]: found[0] for found in FORM.finditer(phone.get(path).text) if found[1] == action}.values()
    found = ONCE.search(form)
    assert found, form
    return found[1]


def twice(phone: Browser, path: str, **form: str) -> str:
    """Send it twice; both lead to the same page, whose text is given."""
    phone.takes_s = 1.0
    first, second = (phone.post(path, data=form) for _ in range(2))
    assert (first.status_code, first.headers["Location"]) == (second.status_code, second.headers["Location"])
    return said(phone.get(second.headers["Location"]).text)


def test_a_lot_that_is_sent_twice_is_weighed_in_once(phone: Browser, data: Path) -> None:
    once = once_of(phone, "/lots/new", "/lots")
    assert "Done. L-1: 2.400 kg" in twice(phone, "/lots", **PLATE, once=once)
    with read_book(data / "book.db") as book:
        assert [lot.code for lot in lots.lots(book)] == ["L-1"]
    assert once_of(phone, "/lots/new", "/lots") != once


def test_without_the_field_and_with_other_words_it_is_written(phone: Browser, data: Path) -> None:
    phone.takes_s = 1.0
    for form in (PLATE, PLATE, {**PLATE, "once": "a"}, {**PLATE, "once": "a", "mass": "1.1"}, {**PLATE, "once": "b"}):
        phone.post("/lots", data=form)
    with read_book(data / "book.db") as book:
        assert len(lots.lots(book)) == 5


def test_what_was_refused_is_judged_anew(phone: Browser, data: Path) -> None:
    phone.takes_s = 1.0
    weigh = {"mass": "2.3", "once": "a"}
    refused = phone.post("/lots/L-1/weigh", data=weigh).headers["Location"]
    assert phone.get(refused).status_code == 404  # there is no L-1 yet
    phone.post("/lots", data=PLATE)
    assert "Done. L-1: 2.300 kg." in twice(phone, "/lots/L-1/weigh", **weigh)


def test_the_second_tap_waits_for_the_first(app: Flask, phone: Browser, data: Path) -> None:
    phone.post("/lots", data=PLATE)
    cookie = phone.get_cookie("meltkeeper-8080", "localhost")
    assert cookie is not None

    def tap() -> str:
        client = Browser(app)
        client.set_cookie(cookie.key, cookie.value, domain="localhost")
        return str(client.post("/lots", data={**PLATE, "once": "a"}).headers["Location"])

    with ThreadPoolExecutor(3) as pool:
        with open_book(data / "book.db", who="Bo", sent_from="page", utc_ms=1):  # the book is busy: nobody writes yet
            taps = [pool.submit(tap) for _ in range(3)]
        assert len({each.result() for each in taps}) == 1
    with read_book(data / "book.db") as book:
        assert len(lots.lots(book)) == 2


def test_a_plan_is_begun_and_taken_to_the_furnace_once(planned: Browser, furnace: Scripted, data: Path) -> None:
    once = once_of(planned, "/plan", "/plan")
    assert "0.50 kg of machine plate" in twice(planned, "/plan", lot="L-1", kg="0.5", once=once)
    with read_book(data / "book.db") as book:
        assert [plan.code for plan in plans(book)] == ["P-002", "P-001"]
    once = once_of(planned, "/plan/P-001", "/plan/P-001/take")
    shown = twice(planned, "/plan/P-001/take", air="dry", once=once)
    assert "Not done" not in shown
    assert [type(each) for each in furnace.asked] == [Prepare]


def test_a_refused_way_to_the_furnace_is_tried_again(planned: Browser, furnace: Scripted) -> None:
    planned.takes_s = 1.0
    for _ in range(2):
        answer = planned.post("/plan/P-001/take", data={"once": "a"})
        assert "Weather asked: Not said yet." in said(planned.get(answer.headers["Location"]).text)
    assert furnace.asked == []


def test_the_record_is_closed_by_two_taps_as_by_one(phone: Browser, data: Path, furnace: Scripted) -> None:
    shop = Shop(data)
    shop.lot("L-1", 4.0)
    shop.melt("A-001", backend="paper", L_1=2.4)
    assert "counted" in twice(
        phone, "/melts/A-001/count", masses="0.58 0.58", once=once_of(phone, "/melts/A-001", "/melts/A-001/count")
    )
    phone.post("/melts/A-001/dross", data={"dross": "0.06"})
    once = once_of(phone, "/melts/A-001", "/melts/A-001/close")
    assert "Done. Melt A-001 is closed." in twice(phone, "/melts/A-001/close", once=once)


def test_metal_is_used_up_and_added_once(phone: Browser, data: Path, furnace: Scripted) -> None:
    shop = Shop(data)
    story(shop)
    once = once_of(phone, "/ingots/A-096-1", "/ingots/A-096-1/use")
    assert "0.50 kg of 0.70 kg" in twice(phone, "/ingots/A-096-1/use", kg="0.2", text="a knob", once=once)
    furnace.show(HEATING, heat_number="A-097")
    asked = phone.post("/add", data={"name": "L-30", "kg": "0.3"}).text
    found = ONCE.search(asked)
    assert found
    twice(phone, "/add/done", name="L-30", kg="0.3", epoch="3", once=found[1])
    assert len(furnace.asked) == 1
    with shop.reading() as book:
        assert [move["kg"] for move in book.rows("SELECT kg FROM movement WHERE how = 'addition'")] == [0.3]


@pytest.mark.parametrize(
    "path",
    ["/lots/new", "/lots/L-30", "/plan", "/metal", "/ingots/A-096-1", "/ingots/A-097-1", "/melts/A-096", "/plan/P-001"],
)
def test_every_form_of_the_book_has_the_field(phone: Browser, data: Path, furnace: Scripted, path: str) -> None:
    story(Shop(data))
    phone.takes_s = 1.0
    phone.post("/moulds", data={"name": "tray", "volume_ml": "600"})
    phone.post("/plan", data={"lot": "L-30", "kg": "1.0"})
    forms = [found[0] for found in FORM.finditer(phone.get(path).text)]
    assert forms
    assert [form for form in forms if not ONCE.search(form)] == []


def test_a_stop_and_a_lower_are_sent_each_time_and_whatever_comes_with_them(phone: Browser, furnace: Scripted) -> None:
    phone.takes_s = 1.0
    for _ in range(2):
        phone.post("/lower", data={"by_k": "20", "once": "a"})
    for body in ({"once": "a"}, {"once": "a"}, {"once": "a" * 300_000}):  # more than any page takes
        phone.post("/stop", data=body)
    assert [type(each).__name__ for each in furnace.asked] == ["Lower", "Lower", "Stop", "Stop", "Stop"]
