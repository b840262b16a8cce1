"""What is believed of a furnace at the start of a firing, and what disturbs it on the way.

Rows of a belief: the model's states, its log factors, the logarithm of the mass over what was entered, and what the
reading shows beyond the model for a while, K.
"""

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from supervisor.furnace.reckoning import ROOM_C
from supervisor.model.bands import offset_sd_k
from supervisor.model.follower import Belief
from supervisor.model.learned import Model
from supervisor.model.reduced import CONSIDERED, FACTORS, LOWER, SHEATH, STATES, WETTED, Reduced

Array = NDArray[np.float64]

S = len(STATES)
MASS = S + len(FACTORS)
OFFSET = MASS + 1
N = OFFSET + 1

MASS_SD = 0.06
"""Of the logarithm of the mass, as weighed and entered."""

WARM_C = 60.0
"""Below, a furnace stands at one temperature; above, nobody knows how far its lining is warmed through."""

# Per root second, K (metal: J/kg; wetted: share of the pot); found by trial on simulated furnaces.
_NOISE = {
    "wall_1_c": 0.85,
    "pot_c": 0.55,
    "sheath_c": 0.3,
    "element_c": 1.4,
    "wetted": 3e-3,
    "lower_j_kg": 350.0,
    "upper_j_kg": 350.0,
}
_NOISE_LINING = 0.17
_WALKS = {"power": 5e-3 / sqrt(60.0)}  # of log factors
_WALK = 1.5e-3 / sqrt(60.0)

_SOAK, _SOAK_SD = 0.45, 0.35  # how a warm lining falls outwards: see `Reduced.settled`
_HIDDEN_SD = 0.07  # of pot and hot face against the reading of a warm furnace, share of what it is over the room
_KNOWN_SD_K, _KNOWN_SD_J_KG, _WETTED_SD = 1.0, 1000.0, 0.1


def factors_of(reduced: Reduced, model: Model | None) -> tuple[Array, Array]:
    """Log factors (F,) and their covariance (F, F): as learned, or the prior while nothing is."""
    if model is None:
        centre, sd = reduced.prior()
        return centre, np.diag(sd**2)
    return np.array(model.log_factors), np.array(model.covariance)


def outset(reduced: Reduced, model: Model | None, reading_c: float) -> Belief:
    """The belief at the start, with an empty pot."""
    factors, covariance_of_factors = factors_of(reduced, model)
    mean = np.zeros(N)
    mean[:S] = reduced.settled(reading_c, 1, _SOAK)[:, 0]
    mean[S:MASS] = factors
    over_k = max(0.0, reading_c - ROOM_C) if reading_c > WARM_C else 0.0
    falls = (reduced.settled(reading_c, 1, 1.0) - reduced.settled(reading_c, 1, 0.0))[:, 0]
    variances = np.full(S, _KNOWN_SD_K**2 + (_HIDDEN_SD * over_k) ** 2)
    variances[SHEATH], variances[WETTED], variances[LOWER:] = _KNOWN_SD_K**2, _WETTED_SD**2, _KNOWN_SD_J_KG**2
    covariance = np.zeros((N, N))
    covariance[:S, :S] = _SOAK_SD**2 * np.outer(falls, falls) + np.diag(variances)
    covariance[S:MASS, S:MASS] = covariance_of_factors
    covariance[MASS, MASS] = MASS_SD**2
    covariance[OFFSET, OFFSET] = offset_sd_k(model) ** 2
    return Belief(mean, covariance)


def noise_per_s() -> Array:
    """Variance per second of what disturbs each row; the offset has its own way."""
    noise = np.full(N, _WALK**2)
    noise[:S] = _NOISE_LINING**2
    for name, sd in _NOISE.items():
        noise[STATES.index(name)] = sd**2
    for name, sd in _WALKS.items():
        noise[S + FACTORS.index(name)] = sd**2
    noise[MASS] = noise[OFFSET] = 0.0
    return noise


def learns() -> Array:
    """1 for every row that is learned, 0 for those that are only considered."""
    rows = np.ones(N)
    rows[[S + FACTORS.index(name) for name in CONSIDERED] + [MASS]] = 0.0
    return rows
