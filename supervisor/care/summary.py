"""Everything that is known of the furnace's own state, in one piece: for the page Equipment and for `meltkeeper care`.

It reads what is kept; nothing here takes long, and nothing needs a furnace file.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from supervisor.book.writing import Book
from supervisor.care import lives
from supervisor.care.accuracy import Accuracy, accuracy
from supervisor.care.faults import Suspect, suspects
from supervisor.care.figures import Figures, total
from supervisor.care.keeping import Entry, all_figures, dried, entries
from supervisor.care.mains import Told, age_or_mains
from supervisor.care.sensor import Melting, Truth, Use, beside, truth, use
from supervisor.firing.drying import is_dry
from supervisor.logbook.commissioning import changes, proofs
from supervisor.logbook.last import last_spoken
from supervisor.logbook.reading import Log

AT_C = 700.0
"""Where the accuracy of the number is told."""
FIRST = 3
"""Firings with an element that count as new."""
SUSPECTED_FOR_MS = 30 * 86_400_000
"""What spoke longer ago is no suspect any more (our choice)."""


@dataclass(frozen=True)
class Care:
    """What is known today. Figures are of the parts in use, the oldest first."""

    sensor: tuple[Figures, ...]
    element: tuple[Figures, ...]
    truth: Truth
    mixed: Truth  # with unknown and mixed scrap too
    beside: str  # how it reads beside the sensor before it; empty: nobody knows
    use: Use
    accuracy: Accuracy
    dips: tuple[float, ...]  # metal by dip less estimate, K, by firing
    checks: tuple[Entry, ...]
    ohms: Entry | None  # of the dead element, as last measured
    left: Mapping[str, Any]  # `ageing.Left` as it was reckoned after the last firing; empty: not yet
    told: Told | None
    lives: tuple[lives.Life, ...]
    dried: str  # what the record says of drying; empty: nothing is on record
    limiter: str  # when it was last shown to trip, and when that is due again
    suspects: tuple[Suspect, ...]
    unreckoned: int  # closed firings that nothing was reckoned of yet


def care(log: Log, book: Book, now_ms: int) -> Care:
    """Read and judge."""
    figures = all_figures(log, book)
    after = {each.part: each.after_firing for each in changes(log)}
    of_sensor = tuple(each for each in figures if each.firing_id > after.get("sensor", 0))
    of_element = tuple(each for each in figures if each.firing_id > after.get("element", 0))
    kept = {row["firing_id"]: json.loads(row["figures"]) for row in book.rows("SELECT * FROM care_figure ORDER BY id")}
    meltings = _meltings(of_sensor, kept)
    melts = sum(each.metal for each in of_sensor)
    dips = tuple(each.dip_offset_k for each in of_sensor if each.dip_offset_k is not None)
    stated = entries(book)
    last: dict[str, Any] = next((kept[each.firing_id] for each in reversed(of_element) if each.firing_id in kept), {})
    return Care(
        of_sensor,
        of_element,
        truth(meltings),
        truth(meltings, mixed=True),
        beside(meltings, _meltings([each for each in figures if each.firing_id <= after.get("sensor", 0)], kept)),
        use(melts, total(each.hours_over_660 for each in of_sensor), _peak(of_sensor)),
        _accuracy(stated, melts, dips),
        dips,
        tuple(each for each in stated if each.kind in ("ice check", "boiling check", "second probe")),
        next((each for each in reversed(stated) if each.kind == "cold ohms"), None),
        last.get("left", {}),
        age_or_mains(of_element[:FIRST], of_element[-1]) if len(of_element) > FIRST else None,
        _lives(figures, after, stated),
        _dried(log),
        _limiter(log),
        _suspects(log, now_ms),
        sum(each.firing_id not in kept for each in figures),
    )


def _meltings(figures: Sequence[Figures], kept: Mapping[int, Mapping[str, Any]]) -> list[Melting]:
    """Of the firings in which the sensor was held against melting metal."""
    return [
        Melting(
            each.firing_id,
            each.utc_ms,
            each.sensor_offset_k,
            each.sensor_offset_sd_k or 0.0,
            bool(kept.get(each.firing_id, {}).get("known")),
        )
        for each in figures
        if each.sensor_offset_k is not None
    ]


def _dried(log: Log) -> str:
    """In a sentence: how far, and whether it is called dry."""
    firings = dried(log)
    if not firings:
        return ""
    last = firings[-1]
    held = ", ".join(f"{hold.at_c:.0f} °C ({hold.minutes:.0f} min)" for hold in last)
    dry = any(is_dry(holds) for holds in firings)
    said = (
        "the need of power did not fall from hold to hold: dry"
        if dry
        else "not called dry yet: another stretch follows"
    )
    return f"{len(firings)} stretch{'es' * (len(firings) != 1)} on record, the last held at {held}; {said}."


def _limiter(log: Log) -> str:
    """In a sentence."""
    shown = [
        each for each in proofs(log) if each.proof in ("limiter-trip", "limiter-sensor") and each.result == "proved"
    ]
    if not shown:
        return "Nobody has shown on record that it trips: meltkeeper check limiter-sensor."
    last = shown[-1]
    at = datetime.fromtimestamp(last.utc_ms / 1000, UTC)
    how = "Tripped hot" if last.proof == "limiter-trip" else "Tripped by hand"
    due = f"{at.replace(year=at.year + 1, day=min(at.day, 28)):%B %Y}"
    return f"{how} {at.day} {at:%B %Y}; due again {due}. It does not show how right its sensor is."


def _peak(figures: Sequence[Figures]) -> float | None:
    return max((each.peak_c for each in figures if each.peak_c is not None), default=None)


def _accuracy(stated: Sequence[Entry], melts: int, dips: Sequence[float]) -> Accuracy:
    of: Mapping[str, Any] = next((each.detail for each in reversed(stated) if each.kind == "sensor class"), {})
    probe = next((each.value for each in reversed(stated) if each.kind == "second probe"), None)
    held_k = None
    if probe is not None and len(dips) >= 3:
        middle = sum(dips) / len(dips)
        spread = (sum((dip - middle) ** 2 for dip in dips) / (len(dips) - 1)) ** 0.5
        held_k = (probe**2 + (2.0 * spread) ** 2) ** 0.5
    return accuracy(
        AT_C,
        kind=str(of.get("class", "class 2")),
        extension=bool(of.get("extension", True)),
        melts=melts,
        held_within_k=held_k,
    )


def _lives(figures: Sequence[Figures], after: Mapping[str, int], stated: Sequence[Entry]) -> tuple[lives.Life, ...]:
    def since(part: str) -> list[Figures]:
        return [each for each in figures if each.firing_id > after.get(part, 0)]

    of_relay, of_contactor, of_pot = since("relay"), since("contactor"), since("crucible")
    looked = next((each for each in reversed(stated) if each.kind == "crucible look"), None)
    return (
        lives.relay(_sum(each.relay_operations for each in of_relay), total(each.hours for each in of_relay)),
        lives.contactor(_sum(each.contactor_operations for each in of_contactor), len(of_contactor)),
        lives.crucible(
            sum(each.metal for each in of_pot),
            "" if looked is None else str(looked.detail.get("kind", "")),
            None if looked is None else bool(looked.detail.get("cracked")),
        ),
    )


def _sum(values: Any) -> int | None:
    known = [value for value in values if value is not None]
    return sum(known) if known else None


def _suspects(log: Log, now_ms: int) -> tuple[Suspect, ...]:
    spoke = sorted(last_spoken(log).items(), key=lambda each: -each[1])
    fresh = {watch: f"{watch.replace('-', ' ')} spoke" for watch, at_ms in spoke if now_ms - at_ms <= SUSPECTED_FOR_MS}
    return tuple(suspects(fresh))
