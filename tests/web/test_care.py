"""The page Equipment on sensor, element, wear and faults: what it says, and what may be entered."""

from pathlib import Path

from supervisor.book.writing import open_book, read_book
from supervisor.care.keeping import entries
from supervisor.firing.commands import Change
from tests.supervisor.logbook import alarm, closed, opened, samples, scribe_of
from tests.web.conftest import Browser
from tests.web.looking import JSON
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import made
from tests.web.snapshots import HEATING, STOPPED
from tests.web.test_equipment import said


def with_a_log(data: Path) -> None:
    with scribe_of(data) as scribe:
        scribe.put([opened(), *samples(60), closed(60_000), alarm(t_ms=2000)])


def test_it_answers_what_people_ask_of_sensor_element_and_limiter(
    phone: Browser, furnace: Scripted, data: Path
) -> None:
    with_a_log(data)
    page = said(phone.get("/equipment").text)
    assert "Not known yet: 4 more melts of known metal say whether it has moved." in page
    assert "The number may be 7 K off at 700 °C" in page
    assert "Wire of the sensor: 5 K IEC 60584-1, class 2" in page
    assert "Nobody has shown on record that it trips: meltkeeper check limiter-sensor." in page
    assert "heats; 20 to 60 are common." in page


def test_what_was_measured_is_judged_and_kept(phone: Browser, furnace: Scripted, data: Path) -> None:
    with_a_log(data)
    for form in (
        {"kind": "ice check", "value": "0,5"},
        {"kind": "boiling check", "value": "99.0", "altitude": "150"},
        {"kind": "crucible look", "pot": "clay-graphite", "value": "cracked", "note": "at the rim"},
        {"kind": "near miss", "note": "A mould was still damp when the pot came out."},
        {"kind": "mains voltage", "value": "228", "note": "plug-in meter"},
    ):
        assert phone.post("/equipment/care", data=form).status_code == 303, form
    with read_book(data / "book.db") as book:
        kinds = [each.kind for each in entries(book)]
    assert kinds == ["ice check", "boiling check", "crucible look", "near miss", "mains voltage"]
    page = said(phone.get("/equipment").text)
    assert "Crucible: look at it" in page
    assert "It was seen cracked: it is not charged again." in page
    assert "+0.5 K at 0.0 °C: within 4.5 K." in page


def test_what_cannot_be_is_refused_with_field_value_and_what_is_allowed(
    phone: Browser, furnace: Scripted, data: Path
) -> None:
    with_a_log(data)
    for form, why in (
        ({"kind": "ice check", "value": "x"}, "value is 'x'; allowed: a number, in °C"),
        ({"kind": "boiling check", "value": "99"}, "allowed: one of the two: where the water boils"),
        ({"kind": "mains voltage", "value": "2300"}, "allowed: 90 to 480 V"),
        ({"kind": "near miss", "note": "oops"}, "allowed: what nearly went wrong, in a sentence"),
        ({"kind": "what"}, "allowed: a form of this page"),
    ):
        answer = phone.post("/equipment/care", data=form, follow_redirects=True)
        assert why in said(answer.text), form


def test_the_script_of_the_page_is_told_what_became_of_it(phone: Browser, furnace: Scripted, data: Path) -> None:
    with_a_log(data)
    for value, answer in (("0,5", "accepted"), ("x", "refused")):
        told = phone.post("/equipment/care", data={"kind": "ice check", "value": value}, headers=JSON)
        assert told.json["answer"] == answer
        assert told.json["sentence"]


def test_a_phone_that_looks_enters_nothing(looker: Browser, furnace: Scripted, data: Path) -> None:
    with_a_log(data)
    assert "Enter a sensor check" not in looker.get("/equipment").text
    assert looker.post("/equipment/care", data={"kind": "near miss", "note": "x" * 20}).status_code in (303, 403)
    with open_book(data / "book.db", who="", sent_from="", utc_ms=0) as book:
        assert not entries(book)


def test_each_test_near_element_or_terminals_says_first_that_it_is_dead(
    phone: Browser, furnace: Scripted, data: Path
) -> None:
    with_a_log(data)
    page = phone.get("/equipment").text
    assert page.count("Plug out or isolated, locked off, proved dead by a licensed person, who says so.") >= 20
    assert "Take the relay&#39;s load leads off" in page


def test_a_trip_of_the_earth_leakage_device_is_told_and_heads_the_page(
    phone: Browser, furnace: Scripted, data: Path
) -> None:
    with_a_log(data)
    furnace.show(made(STOPPED, commands=[{"name": "part", "allowed": True, "why": ""}]))
    assert "The earth-leakage device tripped" in phone.get("/equipment").text
    phone.post("/equipment/part", data={"part": "earth-leakage-trip", "note": "at 300 °C, damp brick"})
    asked = furnace.asked[-1]
    assert isinstance(asked, Change)
    assert asked.part == "earth-leakage-trip"
    leaks = {
        "name": "earth leakage",
        "met": False,
        "reason": "The earth-leakage device has tripped: x",
        "mend": "Leave it.",
    }
    furnace.show(made(STOPPED, permissives=[leaks]))
    page = said(phone.get("/equipment").text)
    assert "Heat is locked: the earth-leakage device has tripped." in page


def test_a_correction_stands_beside_the_number_and_on_this_page(phone: Browser, furnace: Scripted, data: Path) -> None:
    with_a_log(data)
    corrected = {"k": -6.0, "at_c": 660.0, "on": "2026-11-27", "by": "Ada", "why": "three dips"}
    furnace.show(made(HEATING, hot_junction={"c": 276.3, "age_s": 0.0, "fault": None, "correction": corrected}))
    assert "corrected by -6 K since 2026-11-27" in said(phone.get("/").text)
    page = said(phone.get("/equipment").text)
    assert "Corrected by -6 K at 660" in page
    assert "Since 2026-11-27, by Ada: three dips." in page
