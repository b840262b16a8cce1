"""Lots: metal as it comes into the workshop, each with one origin. What is known of one may be mended, never erased."""

import json
from collections.abc import Mapping
from typing import Any, NamedTuple

from supervisor.book.holders import HALF_A_GRAM_KG, OUTSIDE, Holder, left_kg, move
from supervisor.book.schema import SHAPES, SURFACES
from supervisor.book.typed import choice, line, text
from supervisor.book.writing import Book
from supervisor.metal.alloys import UNKNOWN, alloy, table
from supervisor.metal.composition import SURENESS, of_alloy
from supervisor.metal.forms import FORMS
from supervisor.metal.item import ORIGINS
from supervisor.metal.masses import MOST_KG, checked_kg
from supervisor.refusal import InputRefused

LONGEST_PIECE_MM = 3000.0
MOST_PIECES = 10_000


class Lot(NamedTuple):
    """A lot as it is known now, and what is left of it."""

    id: int
    code: str
    came_utc_ms: int
    name: str
    origin: str
    form: str
    alloy: str
    certainty: str
    measured: Mapping[str, float]
    surface: str
    shape: str
    longest_mm: float | None
    pieces: int | None
    note: str
    kg: float


def lots(book: Book, *, gone: bool = False) -> list[Lot]:
    """Every lot of which something is left, the newest first; gone: also those of which nothing is."""
    found = [_lot(row) for row in book.rows("SELECT * FROM lots ORDER BY id DESC")]
    return [lot for lot in found if gone or lot.kg > 0.0]


def lot_of(book: Book, lot_id: int) -> Lot:
    """One lot by its number.

    Raises:
        InputRefused: there is none.
    """
    row = book.one("SELECT * FROM lots WHERE id = ?", lot_id)
    if row is None:
        raise InputRefused(f"lot is {lot_id}; allowed: one of the book")
    return _lot(row)


def _lot(row: dict[str, Any]) -> Lot:
    measured = {} if row["measured"] is None else json.loads(row["measured"])
    kg = 0.0 if row["kg"] < HALF_A_GRAM_KG else round(row["kg"], 6)
    return Lot(**{**row, "measured": measured, "kg": kg})


def add(
    book: Book,
    kg: float,
    *,
    form: str,
    origin: str = "other",
    name: str = "",
    alloy_name: str = UNKNOWN,
    certainty: str = "guess",
    surface: str = "not looked",
    shape: str = "not looked",
    **more: Any,
) -> Lot:
    """Weigh a lot in; more: measured, longest_mm, pieces, note.

    Raises:
        InputRefused: something of it cannot be; one sentence with field, value and what is allowed.
    """
    checked_kg(kg, most_kg=MOST_KG, most_is="the most that a lot here may weigh")
    known = {"form": form, "origin": origin, "name": name, "alloy": alloy_name, "certainty": certainty}
    described = _checked({**known, "surface": surface, "shape": shape, **more})
    lot_id = _made(book, described)
    move(book, kg, OUTSIDE, ("lot", lot_id), "weighed in")
    return lot_of(book, lot_id)


def _made(book: Book, described: dict[str, Any]) -> int:
    """A lot that holds nothing yet."""
    count = book.one("SELECT coalesce(max(id), 0) + 1 AS next FROM lot")
    assert count is not None
    lot_id = book.append("lot", code=f"L-{count['next']}")
    book.append("lot_description", lot_id=lot_id, **described)
    return lot_id


def lot_for_returns(book: Book, ingot: str, alloy_name: str, *, into: str | None = None, chips: bool = False) -> int:
    """The lot that metal of an ingot goes back to: one of its own, or one of returns that is there already.

    What is in it is reckoned from its descent; the alloy is only what its melt was taken for.

    Raises:
        InputRefused: `into` is no lot, or one that did not come of ingots alone: scrap of another origin stays apart.
    """
    if into is None:
        known = {"form": "swarf_dry" if chips else "solid_offcut", "origin": "machining", "name": f"returns of {ingot}"}
        known |= {"alloy": alloy_name if alloy_name in table() else UNKNOWN, "certainty": "guess"}
        return _made(book, _checked({**known, "surface": "not looked", "shape": "solid"}))  # saws and lathes are oiled
    row = book.one("SELECT id FROM lot WHERE upper(code) = ?", into.strip().upper())
    if row is None:
        raise InputRefused(f"into is {line('into', repr(into)[:40], 60)}; allowed: the code of a lot, as L-28")
    if book.one("SELECT 1 FROM moves WHERE to_kind = 'lot' AND to_id = ? AND how <> 'returned'", row["id"]):
        raise InputRefused(f"{into} holds scrap of another origin; allowed: a lot of returns, or a lot of its own")
    return int(row["id"])


def describe(book: Book, lot_id: int, **changes: Any) -> Lot:
    """Mend what is known of a lot; what was believed before stays on record.

    Raises:
        InputRefused: there is no such lot, or something of it cannot be.
    """
    before = lot_of(book, lot_id)
    fields = ("name", "origin", "form", "alloy", "certainty", "surface", "shape", "longest_mm", "pieces", "note")
    known = {field: getattr(before, field) for field in fields} | {"measured": dict(before.measured)}
    book.append("lot_description", lot_id=lot_id, **_checked({**known, **changes}))
    return lot_of(book, lot_id)


def weigh(book: Book, lot_id: int, kg: float) -> Lot:
    """The lot was weighed again: what it is lighter or heavier by leaves it, or comes in, as a correction. 0: gone.

    Raises:
        InputRefused: there is no such lot, or a mass that cannot be.
    """
    before = lot_of(book, lot_id)
    if kg != 0.0:
        checked_kg(kg, most_kg=MOST_KG, most_is="the most that a lot here may weigh")
    off_kg = kg - left_kg(book, ("lot", lot_id))
    if abs(off_kg) >= HALF_A_GRAM_KG:
        this: Holder = ("lot", lot_id)
        source, to = (OUTSIDE, this) if off_kg > 0.0 else (this, OUTSIDE)
        move(book, abs(off_kg), source, to, "correction", note=f"weighed again: {kg:.3f} kg, was {before.kg:.3f}")
    return lot_of(book, lot_id)


def _checked(given: dict[str, Any]) -> dict[str, Any]:
    form = choice("form", given["form"], tuple(FORMS))
    origin = choice("origin", given["origin"], tuple(ORIGINS))
    certainty = choice("certainty", given["certainty"], tuple(SURENESS))
    name = UNKNOWN if str(given["alloy"]).strip().lower() in (UNKNOWN, "") else alloy(str(given["alloy"])).name
    if name == UNKNOWN and certainty != "measured":
        certainty = UNKNOWN
    if name != UNKNOWN and certainty == UNKNOWN:
        certainty = "guess"
    measured = {str(element): float(pct) for element, pct in (given.get("measured") or {}).items()}
    of_alloy(name, certainty, measured)  # refuses percentages that cannot be
    return {
        "name": line("name", given["name"], 60) or ORIGINS[origin][0],
        "origin": origin,
        "form": form,
        "alloy": name,
        "certainty": certainty,
        "measured": json.dumps(measured) if measured else None,
        "surface": choice("surface", given["surface"], SURFACES),
        "shape": choice("shape", given["shape"], SHAPES),
        "longest_mm": _number("longest_mm", given.get("longest_mm"), LONGEST_PIECE_MM, "mm"),
        "pieces": _whole(given.get("pieces")),
        "note": text("note", given.get("note") or ""),
    }


def _number(field: str, value: float | None, most: float, unit: str) -> float | None:
    if value is not None and not 0.0 < value <= most:
        raise InputRefused(f"{field} is {value:g}; allowed: above 0, up to {most:g} {unit}")
    return value


def _whole(value: int | None) -> int | None:
    if value is not None and not 0 < value <= MOST_PIECES:
        raise InputRefused(f"pieces is {value}; allowed: 1 to {MOST_PIECES}")
    return value
