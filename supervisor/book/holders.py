"""Kilograms from one holder to another: the one way in which mass moves in the book. It is never made.

A holder is a lot, an ingot or a melt; what comes into the shop or leaves it is moved from or to the outside.
"""

from supervisor.book.writing import Book
from supervisor.refusal import InputRefused

HALF_A_GRAM_KG = 0.0005
"""A scale's last digit: what is short by less is not short."""

Holder = tuple[str, int | None]

OUTSIDE: Holder = ("outside", None)


def left_kg(book: Book, holder: Holder) -> float:
    """What a holder holds now, kg: all that was moved to it less all that was moved from it."""
    kind, holder_id = holder
    row = book.one(
        "SELECT coalesce((SELECT sum(kg) FROM moves WHERE to_kind = ? AND to_id = ?), 0)"
        " - coalesce((SELECT sum(kg) FROM moves WHERE from_kind = ? AND from_id = ?), 0) AS kg",
        *(kind, holder_id) * 2,
    )
    assert row is not None
    left = float(row["kg"])
    return 0.0 if abs(left) < HALF_A_GRAM_KG else round(left, 6)


def move(
    book: Book, kg: float, source: Holder, to: Holder, how: str, *, melt_id: int | None = None, note: str = ""
) -> int:
    """Move so many kg from one holder to another; returns the movement's id.

    Raises:
        InputRefused: a mass that cannot be, or more than the source holds.
    """
    _refuse_what_cannot_be(kg)
    _refuse_more_than_is_left(book, kg, source)
    return _append(book, kg, source, to, how, melt_id, note, None, void=False)


def mend(book: Book, movement_id: int, kg: float | None, note: str) -> int:
    """Replace a movement by one of kg, or take it back (None). The old row stays and counts no more.

    Raises:
        InputRefused: there is none, it was replaced already, or a holder would hold less than nothing.
    """
    old = book.one("SELECT * FROM moves WHERE id = ?", movement_id)
    if old is None:
        raise InputRefused(f"movement is {movement_id}; allowed: one that counts and was not replaced yet")
    if kg is not None:
        _refuse_what_cannot_be(kg)
    source, to = (old["from_kind"], old["from_id"]), (old["to_kind"], old["to_id"])
    more_kg = (kg or 0.0) - old["kg"]
    if more_kg > 0.0:
        _refuse_more_than_is_left(book, more_kg, source)
    else:
        _refuse_more_than_is_left(book, -more_kg, to)
    kept_kg = old["kg"] if kg is None else kg
    return _append(book, kept_kg, source, to, old["how"], old["melt_id"], note, movement_id, void=kg is None)


def _append(
    book: Book,
    kg: float,
    source: Holder,
    to: Holder,
    how: str,
    melt_id: int | None,
    note: str,
    corrects: int | None,
    *,
    void: bool,
) -> int:
    return book.append(
        "movement",
        local_date=book.local_date,
        from_kind=source[0],
        from_id=source[1],
        to_kind=to[0],
        to_id=to[1],
        kg=kg,
        how=how,
        melt_id=melt_id,
        note=note,
        corrects=corrects,
        void=int(void),
    )


def _refuse_what_cannot_be(kg: float) -> None:
    if not 0.0 < kg < float("inf"):
        raise InputRefused(f"mass_kg is {kg:g}; allowed: above 0 kg")


def _refuse_more_than_is_left(book: Book, kg: float, holder: Holder) -> None:
    if holder == OUTSIDE:
        return
    left = left_kg(book, holder)
    if kg > left + HALF_A_GRAM_KG:
        raise InputRefused(f"mass_kg is {kg:g}; allowed: up to {left:.3f} kg, what is left of {name_of(book, holder)}")


def name_of(book: Book, holder: Holder) -> str:
    """What a holder is called: L-28, A-087, A-087/3."""
    kind, holder_id = holder
    asked = {
        "lot": "SELECT code AS name FROM lot WHERE id = ?",
        "melt": "SELECT heat_number AS name FROM melt WHERE id = ?",
        "ingot": "SELECT m.heat_number || '/' || i.number AS name FROM ingot i JOIN melt m ON m.id = i.melt_id"
        " WHERE i.id = ?",
        "mould": "SELECT code AS name FROM mould WHERE id = ?",
    }
    row = book.one(asked[kind], holder_id) if kind in asked else None
    return f"{kind} {holder_id}" if row is None else str(row["name"])
