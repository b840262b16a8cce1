"""An hour as a calendar file with an alarm: the phone's own clock rings, also where this page cannot.

Source: RFC 5545, Internet Calendaring and Scheduling Core Object Specification (iCalendar), September 2009. Sections
stand beside what they ask for.
"""

from datetime import UTC, datetime
from typing import NamedTuple

LINE_OCTETS = 75  # 3.1: without the line break
RINGS_BEFORE = ("-PT5M", "PT0S")  # 3.8.6.3: relative to the start


class Event(NamedTuple):
    """What is to ring. uid: the same for every hour of one firing, so that a newer file replaces the older."""

    uid: str
    sequence: int
    made_utc_ms: int
    at_utc_ms: int
    title: str
    text: str


def ics(event: Event) -> bytes:
    """The calendar file, UTF-8, each line ended by CRLF."""
    lines = [
        "BEGIN:VCALENDAR",  # 3.4
        "VERSION:2.0",  # 3.7.4
        "PRODID:-//meltkeeper//be back by//EN",  # 3.7.3
        "METHOD:PUBLISH",  # 3.7.2
        "BEGIN:VEVENT",  # 3.6.1
        f"UID:{escaped(event.uid)}",  # 3.8.4.7
        f"DTSTAMP:{utc(event.made_utc_ms)}",  # 3.8.7.2
        f"SEQUENCE:{event.sequence}",  # 3.8.7.4
        f"DTSTART:{utc(event.at_utc_ms)}",  # 3.8.2.4, form 2 of 3.3.5
        "DURATION:PT5M",  # 3.8.2.5
        f"SUMMARY:{escaped(event.title)}",  # 3.8.1.12
        f"DESCRIPTION:{escaped(event.text)}",  # 3.8.1.5
        "TRANSP:OPAQUE",  # 3.8.2.7
    ]
    for trigger in RINGS_BEFORE:
        lines += [
            "BEGIN:VALARM",  # 3.6.6
            "ACTION:DISPLAY",  # 3.8.6.1
            f"TRIGGER:{trigger}",
            f"DESCRIPTION:{escaped(event.title)}",
            "END:VALARM",
        ]
    lines += ["END:VEVENT", "END:VCALENDAR"]
    return b"".join(folded(line) for line in lines)


def utc(utc_ms: int) -> str:
    """A date with time in UTC: 3.3.5, form 2. Never later than it is: the second is cut off."""
    return datetime.fromtimestamp(utc_ms // 1000, UTC).strftime("%Y%m%dT%H%M%SZ")


def escaped(text: str) -> str:
    """A value of type TEXT: 3.3.11."""
    for plain, written in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\r\n", "\\n"), ("\n", "\\n")):
        text = text.replace(plain, written)
    return "".join(letter for letter in text if letter.isprintable())


def folded(line: str) -> bytes:
    """A content line of no more than 75 octets a piece, ended by CRLF: 3.1. No letter is cut in two."""
    pieces, piece, room = [], b"", LINE_OCTETS
    for letter in line:
        octets = letter.encode()
        if len(piece) + len(octets) > room:
            pieces.append(piece)
            piece, room = b" ", LINE_OCTETS  # the space that begins a continuation counts
        piece += octets
    return b"\r\n".join([*pieces, piece]) + b"\r\n"
