"""How wide the band of the estimate has to be."""

from math import sqrt
from typing import NamedTuple

from supervisor.model.learned import Model

Z90 = 1.645
"""Standard deviations either side that hold 90 % of a normal distribution."""


class Width(NamedTuple):
    """Standard deviations: of the metal's heat, J/kg, and of its temperature beside that, K."""

    heat_j_kg: float
    beside_k: float


def width(phase: str, filter_variance: float, model: Model | None, *, dipped: bool) -> Width:
    """TBD."""
    return Width(sqrt(max(filter_variance, 0.0)), 0.0)
