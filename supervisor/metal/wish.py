"""What somebody wishes the metal to be: an alloy of the table with its limits, limits of their own, or both."""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from supervisor.metal.alloys import ELEMENTS, Limits, alloy
from supervisor.metal.composition import ALUMINIUM, Composition
from supervisor.metal.conditions import LEAD_MOST_PCT, TIN_MOST_PCT
from supervisor.metal.limits import LEAST_ALUMINIUM, OTHERS, TOGETHER
from supervisor.refusal import InputRefused

YOURS = "your limits"

SPOILS = {"Pb": LEAD_MOST_PCT, "Bi": LEAD_MOST_PCT, "Sn": TIN_MOST_PCT}
"""Wished at most by everybody who does not say otherwise: it stays in all that comes of the metal, wt%."""


class Demand(NamedTuple):
    """What may be of some elements together, wt%. None: no limit on that side.

    doubted: their band counts too. Of what is only not excluded (others, sums) the likely value alone is held.
    """

    name: str
    elements: tuple[str, ...]
    least: float | None
    most: float | None
    doubted: bool


class Wish(NamedTuple):
    """Everything that is wished."""

    name: str  # '6082', '6082, changed', or 'your limits'
    demands: tuple[Demand, ...]


class Held(NamedTuple):
    """One side of a demand against a composition."""

    demand: Demand
    limit_pct: float
    above: bool  # the limit is a most
    pct: float  # likely
    edge_pct: float  # of the band, on the side of the limit

    @property
    def fails(self) -> bool:
        """Not even the likely value keeps it."""
        return self.pct > self.limit_pct if self.above else self.pct < self.limit_pct

    @property
    def reaches(self) -> bool:
        """The likely value keeps it, the band does not."""
        over = self.edge_pct > self.limit_pct if self.above else self.edge_pct < self.limit_pct
        return self.demand.doubted and over and not self.fails

    @property
    def words(self) -> str:
        """As a person says it."""
        side = "at most" if self.above else "at least"
        if self.reaches:
            to = "up to" if self.above else "down to"
            return f"{self.demand.name} may be {to} {self.edge_pct:.2f} %, wished {side} {self.limit_pct:g}"
        return f"{self.demand.name} {self.pct:.2f} %, wished {side} {self.limit_pct:g}"


def wish(alloy_name: str = "", own: Mapping[str, Limits] | None = None) -> Wish:
    """A wish from an alloy of the table, changed by limits of one's own; or from these alone.

    Raises:
        InputRefused: there is no such alloy, or nothing is wished.
    """
    changed = dict(own or {})
    if not alloy_name.strip():
        if not changed:
            raise InputRefused("Nothing is wished; allowed: an alloy of the table, or limits, as Si=6..8")
        demands = [_single(element, limits) for element, limits in changed.items()]
        return Wish(YOURS, (*demands, *(_kept_out(each) for each in SPOILS if each not in changed)))
    found = alloy(alloy_name)
    name, limits = found.name, {**found.limits, **changed}
    together, most_together = TOGETHER.get(name, ((), None))
    demands = [_single(element, each) for element, each in limits.items() if element not in together]
    others = tuple(each for each in ELEMENTS if each not in limits)
    if found.others_each_max is not None:
        demands += [_kept_out(each, found.others_each_max) for each in others]
    if found.others_total_max is not None and others:
        demands.append(Demand(OTHERS, others, None, found.others_total_max, doubted=False))
    if most_together is not None:
        demands.append(Demand(" + ".join(together), together, None, most_together, doubted=False))
    if name in LEAST_ALUMINIUM:
        demands.append(Demand(ALUMINIUM, (ALUMINIUM,), LEAST_ALUMINIUM[name], None, doubted=False))
    return Wish(f"{name}, changed" if changed else name, tuple(demands))


def _kept_out(element: str, most: float = 100.0) -> Demand:
    return Demand(element, (element,), None, min(most, SPOILS.get(element, most)), doubted=False)


def _single(element: str, limits: Limits) -> Demand:
    return Demand(element, (element,), limits.least, limits.most, doubted=True)


_RANGE = re.compile(r"\s*([A-Z][a-z]?)\s*=\s*(\d{0,3}(?:[.,]\d{1,4})?)\s*\.\.\s*(\d{0,3}(?:[.,]\d{1,4})?)\s*")


def own_limits(typed: Iterable[str]) -> dict[str, Limits]:
    """Limits as people type them, wt%: 'Si=6..8', 'Cu=..0.5', 'Mg=0,3..'.

    Raises:
        InputRefused: one is none, is named twice, or its least is above its most.
    """
    found: dict[str, Limits] = {}
    for each in typed:
        parts = _RANGE.fullmatch(each)
        if parts is None or not (parts[2] or parts[3]):
            raise InputRefused(
                f"limit is {each.strip()[:30]!r}; allowed: ELEMENT=LEAST..MOST in wt%, as Si=6..8, Cu=..0.5"
            )
        element = parts[1]
        if element not in ELEMENTS:
            raise InputRefused(f"limit: element is {element!r}; allowed: {', '.join(ELEMENTS)}")
        if element in found:
            raise InputRefused(f"limit: {element} is named twice; allowed: each element once")
        least, most = (float(part.replace(",", ".")) if part else None for part in (parts[2], parts[3]))
        if not (least or 0.0) <= (100.0 if most is None else most) <= 100.0:
            raise InputRefused(f"limit: {each.strip()[:30]!r}; allowed: from the smaller to the larger, up to 100 %")
        found[element] = Limits(least, most)
    return found


def held(asked: Wish, found: Composition) -> Sequence[Held]:
    """Each side of each demand against what is likely, in the order of the wish."""
    out = []
    for demand in asked.demands:
        pct = sum(found.likely.get(element, 0.0) for element in demand.elements)
        single = demand.elements[0] if demand.doubted else ""
        if demand.least is not None:
            out.append(Held(demand, demand.least, False, pct, found.low.get(single, pct)))
        if demand.most is not None:
            out.append(Held(demand, demand.most, True, pct, found.high.get(single, pct)))
    return out
