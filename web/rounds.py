"""What melts that are over still ask for at the furnace: walks of the fire watch, and what their records lack.

Read from the book and the log. The supervisor knows neither: while it has nothing that matters more, the headline says
the walk that is due.
"""

import sqlite3
from typing import Any, NamedTuple

from supervisor.book import closing
from supervisor.book.writing import read_book
from supervisor.refusal import InputRefused
from web.config import WebConfig

NEWEST = 3
"""Melts that are looked at: whoever has left more records open finds them on the page Melts."""
MIN_MS = 60_000
COLD_C = 60.0
LACKS = {
    "addition": "the lot of an addition",
    "masses": "masses",
    "dross": "the dross",
    "pot": "a look into the pot",
    "balance": "a balance that holds",
}
NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven")


class Walk(NamedTuple):
    """A walk that nobody has made yet."""

    after_min: int
    due_utc_ms: int


class Round(NamedTuple):
    """What one melt still asks for. Empty walks and lacks: its record can be closed."""

    heat_number: str
    walks: tuple[Walk, ...]
    lacks: tuple[str, ...]  # in words, without the walks


def rounds(config: WebConfig) -> tuple[Round, ...]:
    """Of the newest melts that were fired, are over and not closed; nothing where book or log cannot be read."""
    try:
        with read_book(config.book) as book:
            known = closing.statuses(book, closing.fired(config.data), gaps=False)
    except (InputRefused, sqlite3.Error, OSError):
        return ()
    fired = [status for status in known if status.fired is not None and not status.facts.closed]
    return tuple(_round(status) for status in fired[:NEWEST] if status.facts.over_utc_ms is not None)


def _round(status: closing.Status) -> Round:
    over_ms = status.facts.over_utc_ms or 0
    walks = [
        Walk((each.due_utc_ms - over_ms) // MIN_MS, each.due_utc_ms)
        for each in status.open
        if each.what == "walk" and each.due_utc_ms is not None
    ]
    lacks = dict.fromkeys(LACKS[each.what] for each in status.open if each.what in LACKS)
    return Round(status.melt.heat_number, tuple(walks), tuple(lacks))


def due(found: tuple[Round, ...], now_utc_ms: int) -> tuple[Round, Walk] | None:
    """The walk that is due now, the newest melt's first; of several the last one, which answers those before it."""
    for each in found:
        late = [walk for walk in each.walks if walk.due_utc_ms <= now_utc_ms]
        if late:
            return each, late[-1]
    return None


def quiet(s: dict[str, Any]) -> bool:
    """The furnace rests, heat is proved off, and the supervisor says nothing that matters more than a round."""
    calm = s["headline"]["tone"] in {"calm", "stay"} and not s["alarms"] and s["left_open"] is None
    return calm and s["state"] in {"stopped", "complete"} and s["heat"]["off"] == "proved" and not s.get("practice")


def headline(found: tuple[Round, ...], walk: tuple[Round, Walk] | None, reading_c: float) -> dict[str, Any] | None:
    """What stands on top while the furnace itself asks for nothing; None: what the supervisor says."""
    if walk:
        after = f"now: {walk[1].after_min}-minute look for smoulder, melt {walk[0].heat_number}."
        return _said("Walk", "round", after, "wanted")
    return _lacks(found[0]) if found and reading_c < COLD_C else None


def _lacks(melt: Round) -> dict[str, Any]:
    lacks = [*melt.lacks, *([f"the {melt.walks[-1].after_min}-minute walk"] if melt.walks else [])]
    if not lacks:
        return _said("", "Cold.", f"Melt {melt.heat_number} lacks nothing: its record can be closed.", "calm")
    things = f"{NUMBERS[len(lacks)]} thing{'s' * (len(lacks) > 1)}"
    return _said("", "Cold.", f"Melt {melt.heat_number} lacks {things}: {', '.join(lacks)}.", "calm")


def _said(before: str, key: str, after: str, tone: str) -> dict[str, Any]:
    return {"before": before, "key": key, "after": after, "tone": tone}
