"""Metal that is to go into a hot pot: it is answered 'do not add' unless everything about it is proved.

Water that gets under liquid metal throws it out. What nobody has looked at counts as wet, closed and dirty.
"""

from collections.abc import Sequence
from typing import NamedTuple

from supervisor.metal import dryness
from supervisor.metal.alloys import UNKNOWN
from supervisor.metal.forms import CHIPS
from supervisor.metal.item import SURE_FOR_THE_GATE, Item
from supervisor.metal.pure import MAGNESIUM_LAST, pure_in

COLD_C = 100.0
"""Below it in the chamber nothing boils off; an addition is then judged like a charge, by its plan."""

SCALE_KG = 0.0005


class Answer(NamedTuple):
    """May it go in? why: all that speaks against it; empty: nothing that the book knows. cautions: read first."""

    why: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def may(self) -> bool:
        """Nothing speaks against it."""
        return not self.why


def may_be_added(items: Sequence[Item], chamber_c: float | None, now_ms: int) -> Answer:
    """Judge an addition. chamber_c: what the chamber reads; None, no reading, counts as hot."""
    hot = chamber_c is None or not chamber_c <= COLD_C
    why, cautions = [], []
    for item in items:
        why += _of_the_book(item)
        if hot:
            why += _when_hot(item, now_ms)
            cautions += _cautions(item)
    return Answer(tuple(why), tuple(dict.fromkeys(cautions)))


def _of_the_book(item: Item) -> list[str]:
    why = [item.quarantine] if item.quarantine else []
    if item.kg > item.left_kg + SCALE_KG:
        why.append(f"{item.name} has {item.left_kg:.3f} kg left, not {item.kg:.3f}.")
    return why


def _when_hot(item: Item, now_ms: int) -> list[str]:
    name = item.name
    why = [wet] if (wet := dryness.refusal(name, item.proof, now_ms)) else []
    if item.shape == "closed":
        why.append(f"{name} is closed, or able to hold liquid: it bursts under the metal.")
    elif item.shape == "not looked":
        why.append(f"{name}: nobody has written down whether a piece is closed or hollow.")
    if item.surface in ("oily", "plated") or item.form == "swarf_oily":
        why.append(f"{name} is {'plated' if item.surface == 'plated' else 'oily'}: not into a hot pot.")
    elif item.surface == "not looked":
        why.append(f"{name}: nobody has written down whether it is bare, painted or oily.")
    if item.origin == "aircraft" and item.certainty not in ("marked", "measured"):
        why.append(f"{name} is unmarked aircraft metal: it may hold lithium, which explodes.")
    return why


def _cautions(item: Item) -> list[str]:
    said = []
    if item.form in CHIPS:
        said.append("Chips: pressed, held under the liquid with a dry, warm tool; never strewn on top.")
    if item.shape == "open":
        said.append(f"{item.name} is hollow: look through it, open at both ends, empty and dry inside.")
    if item.surface == "painted":
        said.append(f"{item.name} is painted: it smokes and flares. Stripped is better.")
    if item.alloy == UNKNOWN or item.certainty not in SURE_FOR_THE_GATE:
        said.append(f"{item.name}: nobody can say what it is. White glare or smoke: step back, heat off, never water.")
    if pure_in(item.composition) == "Mg":
        said.append(MAGNESIUM_LAST)
    return said
