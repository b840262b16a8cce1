"""Firings without metal: drying scrap, warming moulds, ageing ingots. Each thing gets its proof from the record.

A person says what lay in the chamber; how hot it was there and for how long is read from the log, never ticked.
"""

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from supervisor.book import tree
from supervisor.book.holders import name_of
from supervisor.book.writing import Book
from supervisor.logbook.reading import Firing, open_log
from supervisor.metal.held import Held, Minute, best_held
from supervisor.refusal import InputRefused

WHY = ("dry", "warm", "age")
PROVES = {"dry": "dry", "warm": "warm", "age": "aged"}
FOR = {"dry": ("lot", "ingot", "mould"), "warm": ("mould",), "age": ("ingot",)}
"""What may lie in a firing, by what for."""

HOT_C = 60.0


class Record(NamedTuple):
    """A firing without metal, as far as its log goes."""

    firing: Firing
    minutes: Sequence[Minute]

    @property
    def is_over(self) -> bool:
        """Its record is closed: what it proves can be told."""
        return self.firing.state not in ("open",)


def record(data: Path, firing: str) -> Record:
    """The record of a firing without metal, by its number.

    Raises:
        InputRefused: there is none, or it had metal in the pot.
    """
    with open_log(data) as log:
        found = log.firing(firing)
        if found.heat_number is not None or log.frozen(found.id).get("charge"):
            raise InputRefused(f"Firing {found.id} had metal in the pot; a proof comes from a firing without metal.")
        rows = log.minutes(found.id)
    minutes = [Minute(row["minute"], row["samples"], row["readings"], row["hot_junction_min_c"]) for row in rows]
    return Record(found, minutes)


def laid(book: Book, name: str) -> tuple[str, int]:
    """What a name stands for: a mould, a lot or an ingot.

    Raises:
        InputRefused: none of them.
    """
    mould = book.one("SELECT id FROM mould WHERE upper(code) = ?", name.strip().upper())
    if mould is not None:
        return "mould", int(mould["id"])
    holder = tree.named(book, name, ("lot", "ingot"))
    return holder.kind, holder.id


def lay_in(book: Book, of: Record, kind: str, holder_id: int, why: str) -> None:
    """Write down that a lot, ingot or mould lies in the chamber in this firing.

    Raises:
        InputRefused: it is not one that is dried, warmed or aged, or lies in it already.
    """
    name = name_of(book, (kind, holder_id))
    if why not in WHY or kind not in FOR[why]:
        allowed = ", ".join(f"{each} for {' or '.join(FOR[each])}" for each in WHY)
        raise InputRefused(f"{name} is laid in for {why[:20]!r}; allowed: {allowed}")
    if any(row["holder_kind"] == kind and row["holder_id"] == holder_id for row in lying_in(book, of.firing.id)):
        raise InputRefused(f"{name} lies in firing {of.firing.id} already.")
    book.append("in_firing", firing_id=of.firing.id, holder_kind=kind, holder_id=holder_id, why=why, taken_out=0)


def lying_in(book: Book, firing_id: int) -> list[dict[str, object]]:
    """What lies in the chamber in a firing, or lay there until its end."""
    return book.rows(
        "SELECT holder_kind, holder_id, why FROM in_firing i WHERE firing_id = ? AND taken_out = 0 AND NOT EXISTS"
        " (SELECT 1 FROM in_firing o WHERE o.firing_id = i.firing_id AND o.holder_kind = i.holder_kind"
        "  AND o.holder_id = i.holder_id AND o.taken_out = 1 AND o.id > i.id) ORDER BY id",
        firing_id,
    )


def prove(book: Book, of: Record) -> list[str]:
    """Give everything that lay in a firing its proof, or say why it proves nothing; a sentence for each.

    Raises:
        InputRefused: it goes on, or nothing is said to have lain in it.
    """
    if not of.is_over:
        raise InputRefused(f"Firing {of.firing.id} goes on: what it proves is told when it is over.")
    lay = lying_in(book, of.firing.id)
    if not lay:
        raise InputRefused(f"Nothing is said to have lain in firing {of.firing.id}.")
    return [_proved(book, of, str(row["holder_kind"]), int(str(row["holder_id"])), str(row["why"])) for row in lay]


def _proved(book: Book, of: Record, kind: str, holder_id: int, why: str) -> str:
    name = name_of(book, (kind, holder_id))
    known = book.one(
        "SELECT 1 FROM proof WHERE firing_id = ? AND holder_kind = ? AND holder_id = ? AND kind = ?",
        *(of.firing.id, kind, holder_id, PROVES[why]),
    )
    if known is not None:
        return f"{name}: proved by firing {of.firing.id} already."
    held, nothing = best_held(of.minutes, why, kind)
    if held is None:
        return f"{name}: {nothing}"
    _append(book, of, held, kind, holder_id, why)
    if why == "age":
        book.append(
            "ingot_event",
            ingot_id=holder_id,
            kind="aged",
            score=None,
            detail=f'{{"firing_id": {of.firing.id}, "held_c": {held.least_c}, "held_min": {held.minutes}}}',
            corrects=None,
        )
    until = datetime.fromtimestamp(_utc_ms(of, held.to_min) / 1000, UTC).astimezone()
    return (
        f"{name}: {PROVES[why]}. The chamber was at {held.least_c:.0f} °C or more for {held.minutes} min,"
        f" until {until:%Y-%m-%d %H:%M}."
    )


def _append(book: Book, of: Record, held: Held, kind: str, holder_id: int, why: str) -> None:
    book.append(
        "proof",
        holder_kind=kind,
        holder_id=holder_id,
        kind=PROVES[why],
        how="firing",
        firing_id=of.firing.id,
        held_c=held.least_c,
        held_s=60.0 * held.minutes,
        from_utc_ms=_utc_ms(of, held.from_min),
        to_utc_ms=_utc_ms(of, held.to_min),
        note=f"chamber, from the record of firing {of.firing.id}",
    )


def _utc_ms(of: Record, minute: int) -> int:
    return of.firing.started_utc_ms + 60_000 * minute
