"""Search over melts, ingots and lots: words of notes, alloys, names, and days."""

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime
from typing import NamedTuple

from supervisor.book.typed import line
from supervisor.book.writing import Book
from supervisor.logbook.reading import Log
from supervisor.refusal import InputRefused

LONGEST = 80
MOST = 60
SHOWN = 140
_DAY = re.compile(r"(\d{4})(?:-(\d{2})(?:-(\d{2}))?)?")


class Hit(NamedTuple):
    """Something that was found."""

    kind: str  # melt, ingot, lot
    name: str
    day: str  # of it: YYYY-MM-DD
    words: str  # where the words stand


class Asked(NamedTuple):
    """A question: every word must stand somewhere in what is written of a thing; its day lies in the stretch."""

    words: tuple[str, ...]
    first_day: str
    last_day: str


def asked(text: str, first: str = "", last: str = "") -> Asked:
    """Read a question as it was typed. first and last: a year, a month or a day.

    Raises:
        InputRefused: too long, or a day that is none.
    """
    words = tuple(line("search", text, LONGEST).casefold().split())
    return Asked(words, _edge("from", first, last=False), _edge("to", last, last=True))


def _edge(field: str, typed: str, *, last: bool) -> str:
    if not typed.strip():
        return ""
    match = _DAY.fullmatch(typed.strip())
    try:
        if match is None:
            raise ValueError
        year, month, day = (int(part) if part else None for part in match.groups())
        date(year or 0, month or 1, day or 1)
    except ValueError:
        raise InputRefused(
            f"{field} is {line(field, typed[:20], 20)!r}; allowed: 2026, 2026-03 or 2026-03-14"
        ) from None
    return typed.strip() + ("-99-99"[3 * typed.count("-") :] if last else "")


_MELTS = """
    SELECT m.id, m.heat_number AS name, m.local_date AS day,
           m.alloy || ' ' || m.note || ' ' || coalesce(p.name, '') AS own
    FROM melt m LEFT JOIN plan p ON p.id = m.plan_id ORDER BY m.id DESC"""

_CHARGED = """
    SELECT v.to_id AS id,
           group_concat(coalesce(l.code || ' ' || d.name || ' ' || d.alloy || ' ' || d.note, ''), ' ') AS own
    FROM moves v LEFT JOIN lot l ON v.from_kind = 'lot' AND l.id = v.from_id LEFT JOIN lot_description d
        ON d.id = (SELECT max(n.id) FROM lot_description n WHERE n.lot_id = l.id)
    WHERE v.to_kind = 'melt' GROUP BY v.to_id"""

_SAID_OF_MELTS = """
    SELECT melt_id AS id, group_concat(coalesce(json_extract(detail, '$.text'), ''), ' ') AS own FROM melt_event
    WHERE kind <> 'fire watch' GROUP BY melt_id"""

_INGOTS = """
    SELECT i.id, m.heat_number || '/' || i.number AS name, m.local_date AS day, i.maker || ' ' || i.note AS own
    FROM ingot i JOIN melt m ON m.id = i.melt_id ORDER BY i.melt_id DESC, i.number"""

_SAID_OF_INGOTS = """
    SELECT ingot_id AS id, group_concat(coalesce(json_extract(detail, '$.text'), ''), ' ') AS own FROM ingot_event
    GROUP BY ingot_id"""

_LOTS = """
    SELECT l.id, l.code AS name, l.utc_ms, d.name || ' ' || d.origin || ' ' || d.alloy || ' ' || d.note AS own
    FROM lot l JOIN lot_description d ON d.id = (SELECT max(n.id) FROM lot_description n WHERE n.lot_id = l.id)
    ORDER BY l.id DESC"""


def search(book: Book, log: Log | None, question: Asked, most: int = MOST) -> list[Hit]:
    """What was found, melts first, each kind the newest first. log: of the furnace, for what was noted at it."""
    if not question.words and not question.first_day and not question.last_day:
        return []
    charged, said = _texts(book, _CHARGED), _texts(book, _SAID_OF_MELTS)
    noted = {} if log is None else _noted(log)
    found: list[Hit] = []
    for row in book.raw(_MELTS):
        texts = (row["own"], charged.get(row["id"], ""), said.get(row["id"], ""), noted.get(row["name"], ""))
        text = " ".join(texts)
        _add(found, question, "melt", row["name"], row["day"], text)
    cut = _texts(book, _SAID_OF_INGOTS)
    for row in book.raw(_INGOTS):
        _add(found, question, "ingot", row["name"], row["day"], f"{row['own']} {cut.get(row['id'], '')}")
    for row in book.raw(_LOTS):
        day = datetime.fromtimestamp(row["utc_ms"] / 1000, UTC).astimezone().date().isoformat()
        _add(found, question, "lot", row["name"], day, row["own"])
    return found[:most]


def _texts(book: Book, sql: str) -> dict[int, str]:
    return {row["id"]: row["own"] for row in book.raw(sql)}


def _noted(log: Log) -> dict[str, str]:
    """Remarks that were made at the furnace, by heat number."""
    rows = log.rows(
        "SELECT f.heat_number AS name, group_concat(json_extract(e.detail, '$.text'), ' ') AS own FROM event e"
        " JOIN firing f ON f.id = e.firing_id WHERE e.kind = 'note' AND f.heat_number IS NOT NULL"
        " AND coalesce(json_extract(e.detail, '$.text'), '') <> '' GROUP BY f.id"
    )
    return {row["name"]: row["own"] for row in rows}


def _add(found: list[Hit], question: Asked, kind: str, name: str, day: str, text: str) -> None:
    if question.first_day and day < question.first_day:
        return
    if question.last_day and day > question.last_day:
        return
    whole = f"{name} {text}".casefold()
    if all(word in whole for word in question.words):
        found.append(Hit(kind, name, day, _where(text, question.words)))


def _where(text: str, words: Sequence[str]) -> str:
    """The stretch of the text in which the first word stands."""
    plain = " ".join(text.split())
    at = min((place for word in words if (place := plain.casefold().find(word)) >= 0), default=0)
    start = 0 if at < SHOWN // 2 else plain.rfind(" ", 0, at - SHOWN // 3) + 1
    shown = plain[start : start + SHOWN]
    return ("… " if start else "") + shown + (" …" if start + SHOWN < len(plain) else "")
