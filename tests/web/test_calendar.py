"""Be back by as a calendar file, held against RFC 5545 (iCalendar, September 2009), section by section."""

import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.web.conftest import Browser
from tests.web.looking import look
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import made
from tests.web.snapshots import HEATING
from tests.web.snapshots_people import AWAY
from web.calendar import Event, escaped, folded, ics, utc

AT_MS = 1_789_000_000_000
EVENT = Event(
    "a-b-1@workshop.meltkeeper", 7, AT_MS - 1_260_000, AT_MS, "Be back at Furnace A", "Nothing melts, you see."
)


def unfolded(file: bytes) -> list[str]:
    """Section 3.1: a CRLF that a single space follows is no line break."""
    whole = file.replace(b"\r\n ", b"").decode()
    assert whole.endswith("\r\n")
    return whole.split("\r\n")[:-1]


def test_each_line_ends_by_crlf_and_has_75_octets_at_most() -> None:
    """RFC 5545, 3.1: "delimited by a line break, which is a CRLF sequence"; "SHOULD NOT be longer than 75 octets"."""
    file = ics(EVENT._replace(title="Zurück sein an Ofen A, und zwar bald: " * 4, text="ä" * 200))
    assert b"\n" not in file.replace(b"\r\n", b"")
    assert all(len(line) <= 75 for line in file.split(b"\r\n"))


@given(st.text(st.characters(blacklist_categories=("Cs", "Cc")), max_size=300))
def test_folding_cuts_no_letter_and_is_undone_by_taking_crlf_and_space_away(text: str) -> None:
    """RFC 5545, 3.1: "Implementations should take care not to break multi-octet characters"."""
    line = folded(f"DESCRIPTION:{text}")
    for piece in line.removesuffix(b"\r\n").split(b"\r\n"):
        assert len(piece) <= 75
        piece.decode()
    assert line.replace(b"\r\n ", b"").decode() == f"DESCRIPTION:{text}\r\n"


def test_what_must_be_there_is_there_once() -> None:
    """RFC 5545, 3.4, 3.6 (PRODID and VERSION once), 3.6.1 (UID and DTSTAMP once; DTSTART), 3.7.4 (2.0)."""
    lines = unfolded(ics(EVENT))
    assert (lines[0], lines[-1]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
    names = [line.split(":")[0] for line in lines]
    for name in ("VERSION", "PRODID", "METHOD", "UID", "DTSTAMP", "DTSTART", "SEQUENCE", "SUMMARY"):
        assert names.count(name) == 1, name
    assert "VERSION:2.0" in lines
    assert "DTEND" not in names  # 3.6.1: not beside DURATION


def test_the_hour_is_utc_and_never_later_than_promised() -> None:
    """RFC 5545, 3.3.5, form 2: a Z behind it, no time zone to be looked up."""
    assert "DTSTART:20260910T002640Z" in unfolded(ics(EVENT))
    assert utc(AT_MS + 999) == "20260910T002640Z"


def test_two_alarms_that_show_something_ring_five_minutes_before_and_at_the_hour() -> None:
    """RFC 5545, 3.6.6: a DISPLAY alarm has ACTION, DESCRIPTION, TRIGGER, once each; 3.8.6.3: relative to the start."""
    whole = "\n".join(unfolded(ics(EVENT)))
    alarms = re.findall(r"BEGIN:VALARM\n(.*?)\nEND:VALARM", whole, re.DOTALL)
    assert [dict(line.split(":", 1) for line in alarm.split("\n"))["TRIGGER"] for alarm in alarms] == ["-PT5M", "PT0S"]
    for alarm in alarms:
        assert sorted(line.split(":")[0] for line in alarm.split("\n")) == ["ACTION", "DESCRIPTION", "TRIGGER"]
    assert whole.index("BEGIN:VEVENT") < whole.index("BEGIN:VALARM") < whole.index("END:VEVENT")


@pytest.mark.parametrize(
    ("text", "written"),
    [("a;b,c", "a\\;b\\,c"), ("one\ntwo", "one\\ntwo"), ("C:\\x", "C:\\\\x"), ("bell\x07", "bell")],
)
def test_text_is_escaped(text: str, written: str) -> None:
    """RFC 5545, 3.3.11: backslash, semicolon, comma and line break; no control character."""
    assert escaped(text) == written


def fetched(phone: Browser) -> Any:
    return phone.get("/back.ics")


def test_the_page_offers_it_while_an_hour_is_promised(phone: Browser, furnace: Scripted) -> None:
    assert 'href="/back.ics"' in look(phone, furnace, AWAY)
    answer = fetched(phone)
    assert answer.status_code == 200
    assert answer.content_type == "text/calendar; charset=utf-8"
    lines = unfolded(answer.data)
    assert "SUMMARY:Simulated\\, not real: be back at Furnace A" in lines
    text = next(line for line in lines if line.startswith("DESCRIPTION:Be at"))
    assert "Nothing melts until you press." in text
    assert "This hour may move" in text


def test_without_a_promise_there_is_no_file(phone: Browser, furnace: Scripted) -> None:
    assert "/back.ics" not in look(phone, furnace, HEATING)
    answer = fetched(phone)
    assert answer.status_code == 404
    assert "No hour is promised now" in answer.text


def test_a_newer_hour_of_the_same_firing_replaces_the_older(phone: Browser, furnace: Scripted) -> None:
    """RFC 5545, 3.8.4.7 and 3.8.7.4: the same UID, a greater SEQUENCE."""
    furnace.show(AWAY)
    older = unfolded(fetched(phone).data)
    furnace.show(made(AWAY, monotonic_s=9000.0), be_back={**AWAY["be_back"], "in_s": 900.0})
    newer = unfolded(fetched(phone).data)

    def of(lines: list[str], name: str) -> str:
        return next(line.removeprefix(f"{name}:") for line in lines if line.startswith(f"{name}:"))

    assert of(older, "UID") == of(newer, "UID")
    assert int(of(newer, "SEQUENCE")) > int(of(older, "SEQUENCE"))
