"""How wide the band of the estimate has to be for this furnace.

The filter's own spread holds where the furnace is built as the model has it. Where it is not, the filter is sure of
what is wrong. The metal is hidden, but the fit is not: a furnace of other make is followed worse, and only with factors
far from what its file says. The product of both is the misfit, and the more of it, the wider the band, up to what
strange furnaces were seen to need.

Calibrated on simulated furnaces: Bench with constants within 20 %, seeds 1 to 30, and the strange furnaces `weak` and
`strong` of the tests, seeds 1 to 12, each three ordinary melts and one unseen. Not used: Bench from seed 101, Workshop
and the furnace called unseen; docs/estimate.md says what came out on these.
"""

from math import log, sqrt
from typing import NamedTuple

from supervisor.model.learned import Model
from supervisor.model.reduced import prior_sd

Z90 = 1.645
"""Standard deviations either side that hold 90 % of a normal distribution."""

_PHASES = ("solid", "melting", "liquid")
_FITS_K, _STRANGE_K = (
    1.0,
    2.0,
)  # misfit up to which a furnace is as the model has it, and from which it is of other make
_NOTHING_LEARNED_K = 10.0
_FILTER = {"solid": 1.05, "melting": 0.92, "liquid": 0.85}  # on the filter's standard deviation
_STRANGE_J_KG = {"solid": 24_000.0, "melting": 25_000.0, "liquid": 20_500.0}  # sd of the metal's heat beside it
_STRANGE_K_BESIDE = {"solid": 0.0, "melting": 13.0, "liquid": 0.0}  # lumps of other sizes melt one after the other
_DIPS_COUNT_FROM = 1.5  # so many dip readings learned from halve what is not known of the liquid
_AFTER_DIP = 0.3  # of it remains in a firing after its own dip reading


class Width(NamedTuple):
    """Standard deviations: of the metal's heat, J/kg, and of its temperature beside that, K."""

    heat_j_kg: float
    beside_k: float


def residual_k(model: Model | None) -> float:
    """How far readings of this furnace are from the model that was learned of it, K, rms over the phases of a melt."""
    found = [] if model is None else [model.residual_k[phase].rms for phase in _PHASES if phase in model.residual_k]
    return sqrt(sum(rms * rms for rms in found) / len(found)) if found else _NOTHING_LEARNED_K


def strangeness(model: Model | None) -> float:
    """How little the furnace is as the model has it, 0 to 1: 1 too while nothing is learned of it.

    The misfit is the reading's residual, K, times how far the learned factors are from the furnace file, rms in
    standard deviations of their prior.
    """
    if model is None:
        return 1.0
    sd = prior_sd(metered=model.metered).values()
    pulls = [(factor / sd) ** 2 for factor, sd in zip(model.log_factors, sd, strict=True)]
    misfit_k = residual_k(model) * sqrt(sum(pulls) / len(pulls))
    return min(max(log(max(misfit_k, 1e-6) / _FITS_K) / log(_STRANGE_K / _FITS_K), 0.0), 1.0)


def offset_sd_k(model: Model | None) -> float:
    """Standard deviation of a passing offset of the reading, K."""
    return 2.0 * min(max(residual_k(model), 1.0), 15.0)


def width(phase: str, filter_variance: float, strange: float, learned_dips: int, *, dipped: bool) -> Width:
    """Width of the band. filter_variance: of the metal's heat, (J/kg)². dipped: this metal has had a dip reading."""
    strange_j_kg = strange * _STRANGE_J_KG[phase]
    if phase == "liquid":
        strange_j_kg *= sqrt(_DIPS_COUNT_FROM / (_DIPS_COUNT_FROM + learned_dips))
    if dipped:
        strange_j_kg *= _AFTER_DIP
    heat_j_kg = sqrt(max(_FILTER[phase] ** 2 * filter_variance + strange_j_kg**2, 0.0))
    return Width(heat_j_kg, strange * _STRANGE_K_BESIDE[phase])
