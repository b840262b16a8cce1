"""How wide the band of the estimate has to be."""

from math import sqrt
from typing import NamedTuple

from supervisor.model.learned import Model

Z90 = 1.645
"""Standard deviations either side that hold 90 % of a normal distribution."""


_NOTHING_LEARNED_K = 10.0


class Width(NamedTuple):
    """Standard deviations: of the metal's heat, J/kg, and of its temperature beside that, K."""

    heat_j_kg: float
    beside_k: float


def misfit_k(model: Model | None) -> float:
    """How far the reading of this furnace is from the model that was learned of it, K: rms of all phases."""
    if model is None:
        return _NOTHING_LEARNED_K
    found = [model.residual_k[phase].rms ** 2 for phase in ("solid", "melting", "liquid") if phase in model.residual_k]
    return sqrt(sum(found) / len(found)) if found else _NOTHING_LEARNED_K


def offset_sd_k(model: Model | None) -> float:
    """Standard deviation of a passing offset of the reading."""
    return 2.0 * min(max(misfit_k(model), 1.0), 15.0)


def width(phase: str, filter_variance: float, model: Model | None, *, dipped: bool) -> Width:
    """TBD."""
    return Width(sqrt(max(filter_variance, 0.0)), 0.0)
