"""The record of one melt as people write it: skims, dross, pot, walks, what came out. Nothing here adds heat.

No entry is wanted between lifting the pot and setting it down: whoever is not pouring counts, or it is entered after.
"""

import json
from collections import defaultdict
from collections.abc import Collection, Iterable
from typing import Any, NamedTuple

from supervisor.book import typed
from supervisor.book.holders import OUTSIDE, mend, move
from supervisor.book.writing import Book
from supervisor.metal.descent import Holder
from supervisor.refusal import InputRefused

MOST_INGOTS = 30
"""Of one melt: more is a slip of the finger."""


class Melt(NamedTuple):
    """A row of the book: one charge and what was frozen of it."""

    id: int
    heat_number: str
    furnace: str
    backend: str  # simulated, real, paper
    plan_id: int | None
    continues: int | None
    firing_id: int | None
    local_date: str
    mass_kg: float
    alloy: str
    form: str
    unknown: bool
    solidus_c: float | None
    liquidus_c: float | None
    pour_c: float | None
    note: str
    utc_ms: int
    who: str
    sent_from: str

    @property
    def holder(self) -> Holder:
        """The same, as a holder of metal."""
        return Holder("melt", self.id)


class Happened(NamedTuple):
    """Something that was written into a melt's record and counts."""

    id: int
    kind: str
    utc_ms: int
    who: str
    sent_from: str
    detail: dict[str, Any]


def melts(book: Book, but: Collection[str] = ()) -> list[Melt]:
    """Every melt, the newest first. but: heat numbers that are not asked for."""
    rows = book.raw(f"SELECT {_COLUMNS} FROM melt ORDER BY id DESC")
    return [_melt(row) for row in rows if row[_HEAT_NUMBER] not in but]


def melt(book: Book, heat_number: str) -> Melt:
    """One melt.

    Raises:
        InputRefused: there is none of this number.
    """
    rows = book.raw(f"SELECT {_COLUMNS} FROM melt WHERE upper(heat_number) = ?", heat_number.strip().upper())
    if not rows:
        newest = book.one("SELECT heat_number FROM melt ORDER BY id DESC LIMIT 1")
        known = f"the newest is {newest['heat_number']}" if newest else "there is none yet"
        raise InputRefused(f"There is no melt {heat_number.strip()[:40]} in the book; {known}.")
    return _melt(rows[0])


def melt_of(book: Book, melt_id: int) -> Melt:
    """One melt, by its row; for those who found the row in the book."""
    (row,) = book.raw(f"SELECT {_COLUMNS} FROM melt WHERE id = ?", melt_id)
    return _melt(row)


_COLUMNS = ", ".join(Melt._fields)
_HEAT_NUMBER, _UNKNOWN = Melt._fields.index("heat_number"), Melt._fields.index("unknown")


def _melt(row: Iterable[Any]) -> Melt:
    values = list(row)
    values[_UNKNOWN] = bool(values[_UNKNOWN])
    return Melt._make(values)


def happened(book: Book, melt_id: int) -> list[Happened]:
    """What was written into a melt's record, oldest first; a correction stands in the place of what it mends."""
    return happened_in(book, {melt_id})[melt_id]


def happened_in(book: Book, melt_ids: Collection[int]) -> dict[int, list[Happened]]:
    """The same for many melts at once, by their rows."""
    rows = book.raw(
        "SELECT melt_id, corrects, id, kind, utc_ms, who, sent_from, detail FROM melt_event"
        " WHERE melt_id BETWEEN ? AND ? ORDER BY id",
        *(min(melt_ids, default=0), max(melt_ids, default=0)),
    )
    mended = {row[1] for row in rows}
    found: dict[int, list[Happened]] = defaultdict(list)
    for melt_id, _, *columns, detail in rows:
        if melt_id in melt_ids and columns[0] not in mended:
            found[melt_id].append(Happened._make((*columns, json.loads(detail))))
    return found


def write(book: Book, found: Melt, kind: str, corrects: int | None = None, **detail: Any) -> int:
    """Write something into a melt's record.

    Raises:
        InputRefused: the record is closed.
    """
    if kind not in ("closed", "opened again", "remark"):
        refuse_closed(book, found)
    text = json.dumps(detail, ensure_ascii=False, allow_nan=False)
    return book.append("melt_event", melt_id=found.id, kind=kind, detail=text, corrects=corrects)


def refuse_closed(book: Book, found: Melt) -> None:
    """What is closed takes nothing more.

    Raises:
        InputRefused: the record is closed.
    """
    if is_closed(book, found.id):
        raise InputRefused(f"The record of melt {found.heat_number} is closed; open it again first, with the reason.")


def is_closed(book: Book, melt_id: int) -> bool:
    """Whether a melt's record is closed."""
    row = book.one(
        "SELECT kind FROM melt_event WHERE melt_id = ? AND kind IN ('closed', 'opened again') ORDER BY id DESC LIMIT 1",
        melt_id,
    )
    return row is not None and row["kind"] == "closed"


def closed(book: Book) -> set[int]:
    """Every melt whose record is closed, by its row."""
    rows = book.raw("SELECT melt_id, kind FROM melt_event WHERE kind IN ('closed', 'opened again') ORDER BY id")
    newest = {row["melt_id"]: row["kind"] for row in rows}
    return {melt_id for melt_id, kind in newest.items() if kind == "closed"}


def are_closed(events: list[Happened]) -> bool:
    """The same, by what happened in it."""
    newest = last(events, "closed", "opened again")
    return newest is not None and newest.kind == "closed"


def last(events: list[Happened], *kinds: str) -> Happened | None:
    """The newest entry of some kinds."""
    return next((event for event in reversed(events) if event.kind in kinds), None)


def skim(book: Book, found: Melt, text: str = "") -> str:
    """Note a skim."""
    write(book, found, "skim", text=typed.text("text", text))
    return f"Skim of {found.heat_number} noted."


def remark(book: Book, found: Melt, text: str) -> str:
    """Note anything else."""
    if not typed.text("remark", text):
        raise InputRefused("remark is empty; allowed: 1 to 500 characters")
    write(book, found, "remark", text=typed.text("text", text))
    return f"Noted in {found.heat_number}."


def poured(book: Book, found: Melt, text: str = "") -> str:
    """Note the pour, for a melt whose furnace was not told of it."""
    write(book, found, "poured", text=typed.text("text", text))
    return f"Pour of {found.heat_number} noted."


def dross(book: Book, found: Melt, kg: float, *, splash_kg: float = 0.0) -> str:
    """Weigh what was skimmed off, cold, and what was picked up around the moulds; 0 says that there was none.

    Raises:
        InputRefused: a mass that cannot be, or more than is left of the melt.
    """
    refuse_closed(book, found)
    for how, mass_kg in (("dross", kg), ("splash", splash_kg)):
        if not 0.0 <= mass_kg < float("inf"):
            raise InputRefused(f"{how}_kg is {mass_kg:g}; allowed: 0 or more, in kg")
        _weigh_out(book, found, how, mass_kg)
    before = last(happened(book, found.id), "dross")
    write(book, found, "dross", before.id if before else None, dross_kg=kg, splash_kg=splash_kg)
    return f"Dross of {found.heat_number}: {kg:.3f} kg" + (f", splash {splash_kg:.3f} kg." if splash_kg else ".")


def _weigh_out(book: Book, found: Melt, how: str, kg: float) -> None:
    old = book.one("SELECT id, kg FROM moves WHERE from_kind = 'melt' AND from_id = ? AND how = ?", found.id, how)
    if old is not None:
        if old["kg"] != kg:
            mend(book, old["id"], kg or None, "weighed again")
    elif kg > 0.0:
        move(book, kg, found.holder, OUTSIDE, how, melt_id=found.id)


def walked(book: Book, found: Melt, seen: str, *, smoulder: bool = False) -> str:
    """Note a walk of the fire watch: what was seen.

    Raises:
        InputRefused: nothing is said of what was seen.
    """
    if not typed.text("seen", seen):
        raise InputRefused("seen is empty; allowed: 1 to 500 characters, such as 'nothing'. Walk first, then say it.")
    write(book, found, "fire watch", seen=typed.text("seen", seen), smoulder=smoulder)
    if smoulder:
        return "Noted. Put it out, get help if it grows; no water on hot metal. Then walk again in 30 minutes."
    return "Walk noted."
