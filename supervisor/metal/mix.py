"""What a charge comes to: melt mass, losses and composition, by the balance of each element.

For each part: kg, times the share of it that is metal, times wt%, times what of that element comes through the melt.
Metal that was picked up (iron from a bare tool) is added whole, and counts as metal in.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite, sqrt
from typing import NamedTuple

from supervisor.metal.composition import ALUMINIUM, Composition
from supervisor.metal.forms import FORMS, NO_LOSS, Form
from supervisor.refusal import InputRefused

LOSS_SURE_TO = 0.5
"""A loss is known to half of itself (our choice, until a person's own melts say better)."""


class Part(NamedTuple):
    """Something that goes into the pot."""

    name: str  # 'L-28', 'A-092/2'
    kg: float
    form: str  # a key of FORMS, or 'none': nothing is lost
    composition: Composition


@dataclass(frozen=True, slots=True)
class Mix:
    """What comes out, as far as arithmetic can say."""

    charged_kg: float  # picked-up metal not counted
    picked_up_kg: float
    melt_kg: float
    loss_pct: float  # 100 (1 - melt / (charged + picked up)): dirt that never was metal counts as loss
    dirt_kg: float  # paint, oil, soil: never was metal
    give_kg: float  # half the width of the band of melt_kg
    retained_kg: Mapping[str, float]  # of each element; empty when nobody knows
    composition: Composition


def form(name: str) -> Form:
    """A form by its name; 'none' loses nothing.

    Raises:
        InputRefused: there is none of that name.
    """
    if name == "none":
        return NO_LOSS
    if name not in FORMS:
        raise InputRefused(f"form is {name!r}; allowed: {', '.join(FORMS)}")
    return FORMS[name]


def mix(parts: Sequence[Part], picked_up_g: Mapping[str, float] | None = None) -> Mix:
    """Melt these together.

    picked_up_g: grams of each element that came from tools or inserts.

    Raises:
        InputRefused: nothing goes in, a mass that cannot be, a form that is none, a part named twice.
    """
    _refuse(parts, picked_up_g or {})
    picked_kg = {element: grams / 1000.0 for element, grams in (picked_up_g or {}).items()}
    charged_kg, picked_up_kg = sum(part.kg for part in parts), sum(picked_kg.values())
    metal_kg = {element: _retained_kg(parts, element) + picked_kg.get(element, 0.0) for element in _elements(parts)}
    for element in picked_kg.keys() - metal_kg.keys():
        metal_kg[element] = picked_kg[element]
    # Of a part that nobody knows it is known all the same that it is metal: it melts and is lost as aluminium is.
    unknown_kg = sum(part.kg * form(part.form).clean * form(part.form).aluminium for part in _unknown(parts))
    melt_kg = sum(metal_kg.values()) + unknown_kg
    dirt_kg = sum(part.kg * (1.0 - form(part.form).clean) for part in parts)
    lost_kg = charged_kg + picked_up_kg - melt_kg
    known = not unknown_kg
    return Mix(
        charged_kg,
        picked_up_kg,
        melt_kg,
        100.0 * (1.0 - melt_kg / (charged_kg + picked_up_kg)),
        dirt_kg,
        LOSS_SURE_TO * lost_kg,
        metal_kg if known else {},
        _composition(parts, metal_kg, melt_kg, known=known),
    )


def _refuse(parts: Sequence[Part], picked_up_g: Mapping[str, float]) -> None:
    if not parts:
        raise InputRefused("Nothing goes in. Name at least one lot with its mass.")
    seen: set[str] = set()
    for part in parts:
        form(part.form)
        if not (isfinite(part.kg) and part.kg > 0.0):
            raise InputRefused(f"{part.name}: mass_kg is {part.kg:g}; allowed: above 0 kg")
        if part.name in seen:
            raise InputRefused(f"{part.name} is named twice; allowed: each lot once, with all of its mass")
        seen.add(part.name)
    for element, grams in picked_up_g.items():
        if not (isfinite(grams) and grams >= 0.0):
            raise InputRefused(f"picked up: {element} is {grams:g} g; allowed: 0 g or more")


def _unknown(parts: Sequence[Part]) -> list[Part]:
    return [part for part in parts if not part.composition.known]


def _elements(parts: Sequence[Part]) -> list[str]:
    """Every element of the known parts, aluminium last."""
    found = dict.fromkeys(element for part in parts for element in part.composition.likely if element != ALUMINIUM)
    aluminium = [ALUMINIUM] if any(ALUMINIUM in part.composition.likely for part in parts) else []
    return [*found, *aluminium]


def through_kg(part: Part, element: str) -> float:
    """kg of a part, were it all this element, that are in the melt."""
    of = form(part.form)
    return part.kg * of.clean * of.recovery(element)


def _retained_kg(parts: Sequence[Part], element: str) -> float:
    return sum(through_kg(part, element) * part.composition.likely.get(element, 0.0) / 100.0 for part in parts)


def _composition(parts: Sequence[Part], metal_kg: Mapping[str, float], melt_kg: float, *, known: bool) -> Composition:
    """Percentages with their bands: guesses about different parts are taken for independent of each other."""
    likely, low, high = {}, {}, {}
    elements = dict.fromkeys([*metal_kg, *(element for part in parts for element in part.composition.high)])
    for element in elements:
        at_kg = metal_kg.get(element, 0.0)
        down, up = sqrt(_off(parts, element, -1)), sqrt(_off(parts, element, +1))
        most_unknown_kg = sum(
            through_kg(part, element) * part.composition.high.get(element, 0.0) / 100.0 for part in _unknown(parts)
        )
        likely[element] = 100.0 * at_kg / melt_kg
        low[element] = max(0.0, 100.0 * (at_kg - down) / melt_kg)
        high[element] = min(100.0, 100.0 * (at_kg + up + most_unknown_kg) / melt_kg)
    return Composition(likely if known else {}, low, high)


def _off(parts: Sequence[Part], element: str, side: int) -> float:
    """Sum of the squares of what each known part may be off to one side, kg²: its own band, and the loss."""
    total = 0.0
    for part in parts:
        if not part.composition.known:
            continue
        at = part.composition.likely.get(element, 0.0)
        edge = (part.composition.high if side > 0 else part.composition.low).get(element, at)
        of = form(part.form)
        loss_kg = part.kg * of.clean * (1.0 - of.recovery(element)) * LOSS_SURE_TO * at / 100.0
        total += (through_kg(part, element) * (edge - at) / 100.0) ** 2 + loss_kg**2
    return total


def addition_kg(found: Mix, element: str, to_pct: float, source_pct: float = 100.0, recovery: float = 1.0) -> float:
    """How much of a metal that holds source_pct of an element brings the melt to to_pct of it, kg.

    x = (w M - m) / (a r - w g), with M and m the mass of melt and element before, a the content of what is added, r
    what of it comes through, and g how much the melt grows by each kg: a r + (1 - a).

    Raises:
        InputRefused: the melt's composition is not known, or no mass of it gets there.
    """
    if not found.composition.known:
        raise InputRefused("The melt's composition is not known, so no addition can be reckoned.")
    wanted, content = to_pct / 100.0, source_pct / 100.0
    has_kg = found.retained_kg.get(element, 0.0)
    short_kg = wanted * found.melt_kg - has_kg
    if short_kg <= 0.0:
        raise InputRefused(
            f"{element} is {100.0 * has_kg / found.melt_kg:.3f} % already; allowed: more than that. What is in stays"
            " in: it can only be diluted."
        )
    brings = content * recovery - wanted * (content * recovery + 1.0 - content)
    if brings <= 0.0:
        raise InputRefused(f"{element} is to be {to_pct:g} %; allowed: less than the {source_pct:g} % of what is added")
    return short_kg / brings
