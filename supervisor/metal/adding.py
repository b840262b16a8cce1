"""Metal that is to go into the pot of a melt: it is answered 'do not add' unless everything about it is proved.

Water that gets under liquid metal throws it out. What nobody has looked at counts as wet, closed and dirty. A pot that
is still cold makes no difference: what lies in it gets hot.
"""

from collections.abc import Sequence
from typing import NamedTuple

from supervisor.metal import dryness
from supervisor.metal.alloys import UNKNOWN
from supervisor.metal.conditions import MAGNESIUM_FLARES_PCT, WITH_BERYLLIUM, ZINC_FUME_PCT
from supervisor.metal.forms import CHIPS
from supervisor.metal.item import SURE_FOR_THE_GATE, Item
from supervisor.metal.pure import CAUTIONS, MAGNESIUM_GLARES, ZINC_FUMES, pure_in

SCALE_KG = 0.0005


class Answer(NamedTuple):
    """May it go in? why: all that speaks against it; empty: nothing that the book knows. cautions: read first."""

    why: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def may(self) -> bool:
        """Nothing speaks against it."""
        return not self.why


def may_be_added(items: Sequence[Item], room_kg: float | None, now_ms: int) -> Answer:
    """Judge an addition. room_kg: what the pot still takes; None: nobody knows."""
    why, cautions = _of_the_pot(items, room_kg), []
    for item in items:
        why += [*_of_the_book(item), *_of_the_metal(item, now_ms)]
        cautions += _cautions(item)
    return Answer(tuple(why), tuple(dict.fromkeys(cautions)))


def _of_the_pot(items: Sequence[Item], room_kg: float | None) -> list[str]:
    kg = sum(item.kg for item in items)
    if room_kg is None or kg <= room_kg + SCALE_KG:
        return []
    return [f"{kg:.3f} kg are more than the pot still takes, {max(0.0, room_kg):.3f} kg: it runs over."]


def _of_the_book(item: Item) -> list[str]:
    why = [item.quarantine] if item.quarantine else []
    if item.kg > item.left_kg + SCALE_KG:
        why.append(f"{item.name} has {item.left_kg:.3f} kg left, not {item.kg:.3f}.")
    return why


def _of_the_metal(item: Item, now_ms: int) -> list[str]:
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
    if item.alloy in WITH_BERYLLIUM:
        why.append(f"{name} is alloy {item.alloy}, which holds beryllium: its fume poisons.")
    return why


def _cautions(item: Item) -> list[str]:
    said, inside = [], item.composition.likely or item.composition.low
    if item.form in CHIPS:
        said.append("Chips: pressed, held under the liquid with a dry, warm tool; never strewn on top.")
    if item.shape == "open":
        said.append(f"{item.name} is hollow: look through it, open at both ends, empty and dry inside.")
    if item.surface == "painted":
        said.append(f"{item.name} is painted: it smokes and flares. Stripped is better.")
    if item.alloy == UNKNOWN or item.certainty not in SURE_FOR_THE_GATE:
        said.append(f"{item.name}: nobody can say what it is. White glare or smoke: step back, heat off, never water.")
    if pure := pure_in(item.composition):
        said.append(CAUTIONS[pure])
    if not pure and inside.get("Mg", 0.0) > MAGNESIUM_FLARES_PCT:
        said.append(f"{item.name} holds much magnesium. {MAGNESIUM_GLARES}.")
    if not pure and inside.get("Zn", 0.0) > ZINC_FUME_PCT:
        said.append(f"{item.name} holds zinc: fume, chills and fever hours later. {ZINC_FUMES}.")
    return said
