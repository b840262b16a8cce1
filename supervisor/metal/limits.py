"""Which alloy a composition is near, which of its limits fail, and which lot fails them."""

from collections.abc import Sequence
from typing import NamedTuple

from supervisor.metal.alloys import Alloy, table
from supervisor.metal.composition import ALUMINIUM, Composition
from supervisor.metal.mix import Mix, Part, form

TOGETHER = {"1100": (("Si", "Fe"), 0.95)}
"""Limits of two elements together, wt%."""

LEAST_ALUMINIUM = {"1100": 99.0}

OTHERS = "others together"

STRANGE_PCT = 1.5
"""Beyond the limits by so many wt% together: nobody would call it by that alloy's name any more (our choice)."""


class Miss(NamedTuple):
    """A limit that does not hold. perhaps: the likely value is on the wrong side, but its band reaches over."""

    element: str
    pct: float
    limit_pct: float
    above: bool
    perhaps: bool

    @property
    def words(self) -> str:
        """As a person says it."""
        side = "at most" if self.above else "at least"
        return f"{self.element} {self.pct:.2f} %, allowed {side} {self.limit_pct:g}"


class Near(NamedTuple):
    """The alloy that a composition is nearest to. strange: not near enough to go by its name."""

    alloy: Alloy
    misses: tuple[Miss, ...]
    strange: bool


def misses(found: Composition, alloy: Alloy) -> tuple[Miss, ...]:
    """The limits of an alloy that a likely composition does not keep. Numbers are compared as they are, not as printed.

    An element with limits is held against them; one without against 'others each', all those together against 'others
    total'. An element with a minimum that is not there fails.
    """
    out: list[Miss] = []
    others = 0.0
    together, most_together = TOGETHER.get(alloy.name, ((), None))
    for element in dict.fromkeys([*alloy.limits, *found.likely]):
        if element == ALUMINIUM or element in together:
            continue
        at = found.likely.get(element, 0.0)
        if element not in alloy.limits:
            others += at
            out += _held(found, element, at, None, alloy.others_each_max)
            continue
        out += _held(found, element, at, *alloy.limits[element])
    if alloy.others_total_max is not None and others > alloy.others_total_max:
        out.append(Miss(OTHERS, others, alloy.others_total_max, above=True, perhaps=False))
    if most_together is not None and (at := sum(found.likely.get(e, 0.0) for e in together)) > most_together:
        out.append(Miss(" + ".join(together), at, most_together, above=True, perhaps=False))
    least = LEAST_ALUMINIUM.get(alloy.name)
    if least is not None and found.likely.get(ALUMINIUM, 0.0) < least:
        out.append(Miss(ALUMINIUM, found.likely.get(ALUMINIUM, 0.0), least, above=False, perhaps=False))
    return tuple(out)


def _held(found: Composition, element: str, at: float, least: float | None, most: float | None) -> list[Miss]:
    if most is not None and at > most:
        return [Miss(element, at, most, above=True, perhaps=found.low.get(element, at) <= most)]
    if least is not None and at < least:
        return [Miss(element, at, least, above=False, perhaps=found.high.get(element, at) >= least)]
    return []


def nearest(found: Composition) -> Near | None:
    """The alloy whose limits fail by the least; of equals, the one whose middle is nearest. None: nobody knows."""
    if not found.known:
        return None
    name = min(table(), key=lambda each: _distance(found, table()[each]))
    alloy = table()[name]
    failed = misses(found, alloy)
    return Near(alloy, failed, _apart_pct(failed) > STRANGE_PCT)


def _distance(found: Composition, alloy: Alloy) -> tuple[float, float]:
    off = 0.0
    for element, (least, most) in alloy.limits.items():
        if most is not None:
            middle = most / 2.0 if least is None else (least + most) / 2.0
            off += abs(found.likely.get(element, 0.0) - middle)
    return round(_apart_pct(misses(found, alloy)), 6), off


def _apart_pct(failed: Sequence[Miss]) -> float:
    return sum(abs(miss.pct - miss.limit_pct) for miss in failed)


class Culprit(NamedTuple):
    """The lot that fails a limit most, and how much of it could still go in, all else the same."""

    miss: Miss
    part: str
    could_kg: float  # 0: not even without it is the limit kept


def culprits(parts: Sequence[Part], found: Mix, failed: Sequence[Miss]) -> list[Culprit]:
    """For each upper limit that fails: the lot that brings most of the element above the limit."""
    out = []
    for miss in failed:
        if not miss.above or not found.composition.known or miss.element not in found.retained_kg:
            continue
        over = {part.name: _over_kg(part, miss) for part in parts}
        worst = max(parts, key=lambda part: over[part.name])
        if over[worst.name] <= 0.0:
            continue
        rest_kg = sum(over.values()) - over[worst.name]  # picked-up metal is in none of them
        could_kg = 0.0 if rest_kg >= 0.0 else worst.kg * -rest_kg / over[worst.name]
        out.append(Culprit(miss, worst.name, min(could_kg, worst.kg)))
    return out


def _over_kg(part: Part, miss: Miss) -> float:
    """kg of the element that a part brings beyond what its own melt may hold; below 0: it dilutes."""
    of, likely = form(part.form), part.composition.likely
    brings = {element: part.kg * of.clean * of.recovery(element) * pct / 100.0 for element, pct in likely.items()}
    return brings.get(miss.element, 0.0) - miss.limit_pct / 100.0 * sum(brings.values())
