"""Whether a charge goes into the pot: pieces against the bore, volume against the depth, in which order, what may hang.

Solid metal grows by 1.3 to 1.8 % of its length on the way up: a piece that is wedged in cold cracks the pot.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, pi
from typing import NamedTuple

from supervisor.metal.forms import FORMS
from supervisor.metal.item import Item

ROOM_TO_GROW = 0.96
"""Of the bore, what a piece may be long to lie flat: room to grow, and for the tongs (our choice)."""

BELOW_RIM_MM = 25.0
"""Nothing stands higher than this below the rim: the lid must shut (our choice)."""


class Pot(NamedTuple):
    """The crucible, inside. capacity_kg is its working fill of aluminium."""

    capacity_kg: float
    bore_mm: float
    depth_mm: float

    @property
    def volume_ml(self) -> float:
        """To the brim."""
        return pi / 4.0 * self.bore_mm**2 * self.depth_mm / 1000.0


class Piece(NamedTuple):
    """How the longest piece of an item goes in: 'lies', 'stands', or 'too long'."""

    item: str
    longest_mm: float
    goes: str
    over_mm: float  # longer by so much than what can stand
    cut_to_mm: float  # to lie flat


class Step(NamedTuple):
    """One step of feeding the pot."""

    items: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True)
class Fit:
    """Whether and how it goes in."""

    charge_kg: float
    pot: Pot
    loose_ml: float  # the heap as it is thrown in
    stages: int  # so many times the loose heap fills the pot
    pieces: tuple[Piece, ...]
    unknown_lengths: tuple[str, ...]  # items of which nobody wrote down the longest piece
    order: tuple[Step, ...]
    may_hang: tuple[str, ...]  # why solid may hang over liquid; empty: nothing speaks for it


def fit(items: Sequence[Item], pot: Pot) -> Fit:
    """How a charge goes into a pot."""
    loose_ml = sum(1000.0 * item.kg / item.density_g_cm3 / FORMS[item.form].fills for item in items)
    pieces = tuple(_piece(item, pot) for item in items if item.longest_mm is not None)
    stages = max(1, ceil(loose_ml / pot.volume_ml - 0.02))
    lengths = tuple(item.name for item in items if item.longest_mm is None and not item.chips)
    return Fit(
        sum(item.kg for item in items),
        pot,
        loose_ml,
        stages,
        pieces,
        lengths,
        _order(items, pieces),
        tuple(_may_hang(items, pieces, stages)),
    )


def _piece(item: Item, pot: Pot) -> Piece:
    assert item.longest_mm is not None
    stands_mm = pot.depth_mm - BELOW_RIM_MM
    goes = "lies" if item.longest_mm <= ROOM_TO_GROW * pot.bore_mm else "stands"
    if goes == "stands" and item.longest_mm > stands_mm:
        goes = "too long"
    over_mm = max(0.0, item.longest_mm - stands_mm)
    return Piece(item.name, item.longest_mm, goes, over_mm, float(int(ROOM_TO_GROW * pot.bore_mm)))


def _order(items: Sequence[Item], pieces: Sequence[Piece]) -> tuple[Step, ...]:
    """Small and solid first, flat on the floor; what stands, loose; thin sheet; chips under the liquid; pure metal."""
    goes = {piece.item: piece for piece in pieces}
    heavy = [item for item in items if item.form in ("solid_offcut", "old_casting", "ingot")]
    flat = [item for item in heavy if item.name not in goes or goes[item.name].goes == "lies"]
    standing = [item for item in heavy if item not in flat]
    flat.sort(key=lambda item: item.longest_mm or 0.0)
    steps = (
        (flat, "small pieces first, flat on the floor of the pot"),
        (standing, "these stand: loose, upright, not wedged; metal grows"),
        ([item for item in items if item.form == "thin_sheet"], "thin sheet between and over them, folded small"),
        ([item for item in items if item.chips], "chips last: pressed, pushed under the liquid, heat off"),
        ([item for item in items if item.form == "pure_addition"], "pure metal at the very end, held under, then stir"),
    )
    return tuple(Step(tuple(item.name for item in found), words) for found, words in steps if found)


def _may_hang(items: Sequence[Item], pieces: Sequence[Piece], stages: int) -> list[str]:
    why = [
        f"{piece.item}: a piece of {piece.longest_mm:g} mm stands against the wall, and what is under it melts first"
        for piece in pieces
        if piece.goes != "lies"
    ]
    if stages > 1:
        why.append(f"the loose heap is {stages} pots full: what is piled above the rim sinks late")
    kg = sum(item.kg for item in items)
    thin_kg = sum(item.kg for item in items if item.form == "thin_sheet" or item.chips)
    if 0.3 * kg < thin_kg < kg:
        why.append("much thin metal beside heavy pieces: it cakes into a roof over the liquid")
    return why
