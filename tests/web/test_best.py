"""The best mix for a wish and what could be poured today, on the phone: one tap takes either into a plan."""

import re
from pathlib import Path
from typing import Any

import pytest

from hardware import clock
from supervisor.book import lots
from supervisor.book.moulds import add_mould
from supervisor.book.plans import plan_named
from supervisor.book.proofs import dried
from supervisor.book.writing import open_book, read_book
from tests.web.conftest import Browser
from tests.web.looking import said


@pytest.fixture
def stocked(phone: Browser, data: Path) -> Browser:
    """2.4 kg of dry plate, 1.5 kg of castings that are not, two dry moulds."""
    with open_book(data / "book.db", who="Ada", sent_from="page", utc_ms=clock.utc_ms()) as book:
        known: dict[str, Any] = {"certainty": "marked", "surface": "bare", "shape": "solid", "longest_mm": 60.0}
        plate = lots.add(book, 2.4, form="solid_offcut", origin="plate", alloy_name="6082", **known)
        lots.add(book, 1.5, form="old_casting", origin="wheel", alloy_name="A356.0", **known)
        made = [add_mould(book, "tray", 600.0, mass_kg=5.0).id for _ in range(2)]
        dried(book, [("lot", plate.id), *(("mould", mould_id) for mould_id in made)], 160.0, 120.0)
    return phone


def test_a_wish_is_answered_and_one_tap_takes_it_into_a_plan(stocked: Browser, data: Path) -> None:
    shown = said(stocked.get("/plan/best?limits=Si=3..4&kg=2").text)
    assert "For your limits: all wished limits hold over the whole band." in shown
    assert re.search(r"L-1\s*1\.2\d\d kg", shown)
    assert "Not proved dry: L-2. Dry it first." in shown
    answer = stocked.post("/plan", data={"lot": ["L-1", "L-2"], "kg": ["1.2110", "0.7890"]})
    assert answer.headers["Location"].startswith("/plan/P-001?")
    with read_book(data / "book.db") as book:
        kept = plan_named(book, "P-001")
        assert [entry.kg for entry in kept.entries] == [1.211, 0.789]
        assert kept.profile.startswith("example/")


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ("limits=Si=3-4&kg=2", "limit is &#39;Si=3-4&#39;; allowed: ELEMENT=LEAST..MOST"),
        ("kg=2", "Nothing is wished; allowed: an alloy of the table"),
        ("to=6082&kg=24", "Mass is 24 kg; allowed: up to 2.5 kg, the working fill of the pot."),
        ("to=6082&kg=", "Mass is empty; it has no default."),
        ("to=6082&kg=2&dry=yes", "No lot can be used."),
    ],
)
def test_what_cannot_be_gets_a_sentence(phone: Browser, asked: str, sentence: str) -> None:
    assert sentence.split(";")[0] in said(phone.get(f"/plan/best?{asked}").text)


def test_what_could_be_poured_today_with_its_reason_or_what_is_missing(stocked: Browser) -> None:
    shown = said(stocked.get("/plan/today").text)
    assert "One charge could be poured today." in shown
    assert "2.40 kg of machine plate, jig, frame makes two ingots near 6082 in about" in shown
    assert "L-2 is not proved dry: 1.50 kg of wheel, cylinder head." in shown
    assert "EUR for each usable kg" in shown
    shown = said(stocked.get("/plan/today?hours=1").text)
    assert "Nothing can be poured as it lies there." in shown
    assert "with the pour, and 1 are free." in shown


def test_with_no_metal_it_says_so(phone: Browser) -> None:
    assert "There is no metal: weigh something in." in said(phone.get("/plan/today").text)
    assert "What shall it be?" in said(phone.get("/plan/best").text)
