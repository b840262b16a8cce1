"""What a chamber's shape conducts: the wall's areas that a furnace file asks for, from inside sizes and thickness."""

from dataclasses import dataclass
from math import log, pi, sqrt
from typing import Literal, NamedTuple, get_args

Form = Literal["round", "square", "octagon"]
FORMS: tuple[Form, ...] = get_args(Form)

EDGE, CORNER = 0.54, 0.15
"""Conduction shape factors: 0.54 of an edge's length, 0.15 of the thickness for a corner; valid where every inside size
is more than a fifth of the thickness. Source: Holman, Heat Transfer, table 3-1 and example 3-2."""

BLUNT_EDGE, BLUNT_CORNER = 0.33, 0.075
"""The same for the edges of an octagon, which turn by 45° and not by 90°: between a square edge and a round wall, which
adds 0.5 for each radian that it turns (our interpolation)."""

OCTAGON_SIDE = sqrt(2.0) - 1.0
"""Side of an octagon over its width across flats."""


@dataclass(frozen=True, slots=True)
class Chamber:
    """The inside of the lining, closed by a floor and a lid of the same wall; an octagon is measured across flats."""

    form: Form
    across_m: float
    depth_m: float

    @property
    def round_m(self) -> float:
        """The way around it."""
        return {"round": pi, "square": 4.0, "octagon": 8.0 * OCTAGON_SIDE}[self.form] * self.across_m

    @property
    def end_m2(self) -> float:
        """Floor or lid."""
        return self.round_m * self.across_m / 4.0


class Conducts(NamedTuple):
    """Shape factors of the parts, m: each times conductivity times the faces' difference in temperature is its heat."""

    sides: float
    floor: float
    lid: float
    edges: float
    corners: float


def inside_m2(chamber: Chamber) -> float:
    """Area of the hot face, floor and lid included."""
    return chamber.round_m * chamber.depth_m + 2.0 * chamber.end_m2


def shell_m2(chamber: Chamber, thickness_m: float) -> float:
    """Area of the shell outside the wall."""
    return inside_m2(Chamber(chamber.form, chamber.across_m + 2.0 * thickness_m, chamber.depth_m + 2.0 * thickness_m))


def conducts(chamber: Chamber, thickness_m: float) -> Conducts:
    """What each part of the wall conducts."""
    across, depth = chamber.across_m, chamber.depth_m
    end, ends_edge = chamber.end_m2 / thickness_m, EDGE * 2.0 * chamber.round_m
    if chamber.form == "round":
        return Conducts(2.0 * pi * depth / log(1.0 + 2.0 * thickness_m / across), end, end, ends_edge, 0.0)
    upright, corners = (
        (4.0 * EDGE, 8.0 * CORNER) if chamber.form == "square" else (8.0 * BLUNT_EDGE, 16.0 * BLUNT_CORNER)
    )
    return Conducts(chamber.round_m * depth / thickness_m, end, end, ends_edge + upright * depth, corners * thickness_m)


def shape_factor_m(chamber: Chamber, thickness_m: float) -> float:
    """Heat flow is conductivity times this times the difference of the faces' temperatures, m."""
    return sum(conducts(chamber, thickness_m))


def outside_m2(chamber: Chamber, thickness_m: float) -> float:
    """The outside area with which one wall conducts as much as faces, edges and corners do together.

    The logarithmic mean of inside and outside area over the thickness is then the shape factor.
    """
    inner, wanted = inside_m2(chamber), shape_factor_m(chamber, thickness_m) * thickness_m
    low, high = inner * (1.0 + 1e-9), inner * 1000.0
    for _ in range(100):
        middle = (low + high) / 2.0
        low, high = (middle, high) if (middle - inner) / log(middle / inner) < wanted else (low, middle)
    return high
