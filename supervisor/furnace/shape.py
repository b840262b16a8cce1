"""What a chamber's shape conducts: the wall's areas that a furnace file asks for, from inside sizes and thickness."""

from dataclasses import dataclass
from math import log, pi

EDGE, CORNER = 0.54, 0.15
"""Conduction shape factors: 0.54 of an edge's length, 0.15 of the thickness for a corner; valid where every inside size
is more than a fifth of the thickness. Source: Holman, Heat Transfer, table 3-1 and example 3-2."""


@dataclass(frozen=True, slots=True)
class Chamber:
    """The inside of the lining: round or square, closed by a lid of the same wall."""

    is_round: bool
    across_m: float
    depth_m: float


def inside_m2(chamber: Chamber) -> float:
    """Area of the hot face, floor and lid included."""
    across, depth = chamber.across_m, chamber.depth_m
    if chamber.is_round:
        return pi * across * depth + pi * across**2 / 2.0
    return 4.0 * across * depth + 2.0 * across**2


def shape_factor_m(chamber: Chamber, thickness_m: float) -> float:
    """Heat flow is conductivity times this times the difference of the faces' temperatures, m."""
    across, depth = chamber.across_m, chamber.depth_m
    if chamber.is_round:
        side = 2.0 * pi * depth / log(1.0 + 2.0 * thickness_m / across)
        return side + pi * across**2 / 2.0 / thickness_m + EDGE * 2.0 * pi * across
    return inside_m2(chamber) / thickness_m + EDGE * (4.0 * depth + 8.0 * across) + CORNER * 8.0 * thickness_m


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
