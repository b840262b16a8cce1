"""Past melts from a paper book, as people type them: what went in, what came out, and the day."""

import csv
import re
from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple, TextIO

from supervisor.book import ingots, lots, melts, tree, typed
from supervisor.book.holders import move
from supervisor.book.writing import Book
from supervisor.metal.alloys import UNKNOWN, table
from supervisor.metal.descent import Holder
from supervisor.refusal import InputRefused

HEAT_NUMBER = re.compile(r"[A-Z]{1,3}-[0-9]{3,6}")
COLUMNS = ("heat_number", "day", "in", "ingots_kg", "dross_kg", "minutes", "kwh", "maker", "note")
EXAMPLE = "'1.50 6082' for off-cuts of an alloy, '0.30 A-011/2' for an ingot, '2 L-28' for a lot"
MOST_KG = 100.0
"""The most that any pot here takes: more is grams, perhaps."""


class In(NamedTuple):
    """One thing that went in."""

    kg: float
    name: str  # an alloy of the table, 'unknown', or the name of a lot or ingot of the book


class PaperMelt(NamedTuple):
    """A melt as a paper book tells it."""

    heat_number: str
    day: date
    charged: Sequence[In]
    ingots_kg: Sequence[float]
    dross_kg: float | None
    minutes: float | None
    energy_wh: float | None
    maker: str
    note: str


def paper_melt(
    heat_number: str,
    day: str,
    charged: Iterable[str],
    ingots_kg: Iterable[str],
    dross_kg: str = "",
    minutes: str = "",
    kwh: str = "",
    maker: str = "",
    note: str = "",
) -> PaperMelt:
    """Read a melt as it was typed.

    Raises:
        InputRefused: a field cannot be used; the sentence names field, value and what is allowed.
    """
    number = heat_number.strip().upper()
    if not HEAT_NUMBER.fullmatch(number):
        raise InputRefused(f"heat_number is {heat_number[:40]!r}; allowed: letter and number, as A-012")
    try:
        when = date.fromisoformat(day.strip())
    except ValueError:
        raise InputRefused(f"day is {day[:40]!r}; allowed: year, month, day, as 2025-03-08") from None
    went_in = [_charged(each) for each in charged if each.strip()]
    if not went_in:
        raise InputRefused(f"in is empty; allowed: {EXAMPLE}")
    out = [mass_kg("ingots_kg", each) for each in ingots_kg if each.strip()]
    in_kg, out_kg = sum(each.kg for each in went_in), sum(out)
    if out_kg > in_kg + 1e-6:
        raise InputRefused(f"ingots_kg are {out_kg:.3f} kg together; allowed: up to {in_kg:.3f} kg, what went in")
    energy = optional("kwh", kwh, 1000.0, "kWh")
    return PaperMelt(
        number,
        when,
        went_in,
        out,
        optional("dross_kg", dross_kg, MOST_KG, "kg"),
        optional("minutes", minutes, 10_000.0, "min"),
        None if energy is None else 1000.0 * energy,
        typed.text("maker", maker) or "unknown",
        typed.text("note", note),
    )


def from_csv(file: TextIO) -> list[PaperMelt]:
    """Read a table of melts; the first line names the columns, several values of one field are parted by ';'.

    Raises:
        InputRefused: a column or a field cannot be used; the sentence names the line.
    """
    rows = csv.DictReader(file)
    given = rows.fieldnames or ()
    if not {"heat_number", "day", "in"} <= set(given) or not set(given) <= set(COLUMNS):
        raise InputRefused(f"The columns are {', '.join(given) or 'none'}; allowed: {', '.join(COLUMNS)}")
    found = []
    for row in rows:
        try:
            fields = {name: row.get(name) or "" for name in COLUMNS}
            found.append(
                paper_melt(
                    **{
                        name: fields[name]
                        for name in ("heat_number", "day", "dross_kg", "minutes", "kwh", "maker", "note")
                    },
                    charged=fields["in"].split(";"),
                    ingots_kg=fields["ingots_kg"].split(";"),
                )
            )
        except InputRefused as error:
            raise InputRefused(f"line {rows.line_num}: {error}") from error
    return found


def enter(book: Book, furnace: str, found: PaperMelt) -> None:
    """Write one melt of paper into the book, as it would stand there had it been written at its time.

    Raises:
        InputRefused: its heat number is used, or a lot or an ingot does not hold what went in.
    """
    if book.one("SELECT 1 FROM melt WHERE upper(heat_number) = ?", found.heat_number):
        raise InputRefused(f"heat_number is {found.heat_number!r}; it is in the book. A heat number is used once.")
    sources = [_source(book, found, each) for each in found.charged]
    unknown = any(each.name == UNKNOWN for each in found.charged)
    alloys = dict.fromkeys(each.name for each in found.charged)
    row = book.append(
        "melt",
        heat_number=found.heat_number,
        furnace=furnace,
        backend="paper",
        local_date=found.day.isoformat(),
        mass_kg=sum(each.kg for each in found.charged),
        alloy=next(iter(alloys)) if len(alloys) == 1 else "mixed",
        form="solid_offcut",
        unknown=int(unknown),
        note=found.note,
    )
    for each, source in zip(found.charged, sources, strict=True):
        move(book, each.kg, source, ("melt", row), "charge", melt_id=row, note="from paper")
    melt = melts.melt_of(book, row)
    if found.ingots_kg:
        ingots.count(book, melt, found.ingots_kg, found.maker, "from paper")
    if found.dross_kg is not None:
        melts.dross(book, melt, found.dross_kg)


def _source(book: Book, found: PaperMelt, each: In) -> Holder:
    """The bin of the book that it came from; an alloy alone gets a lot of its own, made for it."""
    if each.name != UNKNOWN and each.name not in table():
        return tree.named(book, each.name, ("lot", "ingot"))
    lot = lots.add(
        book,
        each.kg,
        form="solid_offcut",
        name=f"charge of {found.heat_number}",
        alloy_name=each.name,
        certainty="likely",
        note="from a paper book",
    )
    return Holder("lot", lot.id)


def _charged(typed: str) -> In:
    parts = typed.split()
    if len(parts) != 2:
        raise InputRefused(f"in is {typed.strip()[:60]!r}; allowed: {EXAMPLE}")
    return In(mass_kg("in", parts[0]), parts[1])


def mass_kg(field: str, typed: str) -> float:
    """A mass as people type it, comma or point, in kg.

    Raises:
        InputRefused: it is none, or as much as no such furnace melts: grams, perhaps.
    """
    kg = optional(field, typed, MOST_KG, "kg")
    if kg is None or kg <= 0.0:
        raise InputRefused(f"{field} is {typed.strip()[:40]!r}; allowed: above 0, up to {MOST_KG:g} kg")
    return kg


def optional(field: str, typed: str, most: float, unit: str) -> float | None:
    """A number that may be missing.

    Raises:
        InputRefused: it is none, or out of range.
    """
    if not typed.strip():
        return None
    try:
        value = float(typed.strip().replace(",", "."))
    except ValueError:
        value = -1.0
    if not 0.0 <= value <= most:
        raise InputRefused(f"{field} is {typed.strip()[:40]!r}; allowed: a number, 0 to {most:g} {unit}")
    return value
