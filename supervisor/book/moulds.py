"""Moulds that the workshop has: how much each takes, what it weighs, whether it is proved dry."""

from typing import NamedTuple

from supervisor.book.typed import line, text
from supervisor.book.writing import Book
from supervisor.metal.shrinkage import Mould
from supervisor.refusal import InputRefused

MOST_ML, MOST_KG = 20_000.0, 200.0


class KeptMould(NamedTuple):
    """A mould of the book."""

    id: int
    code: str
    name: str
    volume_ml: float
    mass_kg: float | None
    material: str
    note: str

    @property
    def mould(self) -> Mould:
        """The same, for a plan."""
        return Mould(self.code, self.name, self.volume_ml, self.mass_kg)


def moulds(book: Book) -> list[KeptMould]:
    """Every mould, in the order in which they came."""
    rows = book.rows("SELECT id, code, name, volume_ml, mass_kg, material, note FROM mould ORDER BY id")
    return [KeptMould(**row) for row in rows]


def mould_named(book: Book, code: str) -> KeptMould:
    """One mould by its code, as people type it.

    Raises:
        InputRefused: there is none.
    """
    known = {each.code: each for each in moulds(book)}
    found = known.get(code.strip().upper())
    if found is None:
        allowed = ", ".join(known) or "none is known yet"
        raise InputRefused(f"mould is {line('mould', repr(code)[:40], 60)}; allowed: {allowed}")
    return found


def add_mould(
    book: Book, name: str, volume_ml: float, *, mass_kg: float | None = None, material: str = "", note: str = ""
) -> KeptMould:
    """Write a mould down.

    volume_ml: to the brim: fill it with dry sand and measure that; water needs a drying afterwards.

    Raises:
        InputRefused: a name or a size that cannot be.
    """
    kept = line("name", name, 60)
    if not kept:
        raise InputRefused("name is empty; allowed: 1 to 60 characters")
    if not 0.0 < volume_ml <= MOST_ML:
        raise InputRefused(f"volume_ml is {volume_ml:g}; allowed: above 0, up to {MOST_ML:g} ml, to the brim")
    if mass_kg is not None and not 0.0 < mass_kg <= MOST_KG:
        raise InputRefused(f"mass_kg is {mass_kg:g}; allowed: above 0, up to {MOST_KG:g} kg, the empty mould")
    code = f"M-{len(moulds(book)) + 1}"
    book.append(
        "mould",
        code=code,
        name=kept,
        volume_ml=volume_ml,
        mass_kg=mass_kg,
        material=line("material", material, 60),
        note=text("note", note),
    )
    return mould_named(book, code)
