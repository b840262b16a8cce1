"""The width of the band follows how well the furnace is understood."""

from dataclasses import replace

import pytest

from supervisor.model.bands import strangeness, width
from supervisor.model.learned import Model, Spread
from supervisor.model.reduced import FACTORS, PRIORS

VARIANCE = 8_000.0**2


def model(*, pull: float, residual_k: float) -> Model:
    """Factors so many prior standard deviations from the furnace file; the reading off by residual_k."""
    count = len(FACTORS)
    return Model(
        log_factors=tuple(pull * sd for sd in PRIORS.values()),
        log_sd=(0.1,) * count,
        covariance=tuple(tuple(0.01 * (i == j) for j in range(count)) for i in range(count)),
        learned_from=(1, 2, 3),
        metered=False,
        residual_k={phase: Spread(0.0, residual_k, 50) for phase in ("solid", "melting", "liquid")},
        low_c=20.0,
        high_c=800.0,
        furnace_digest="",
        made_utc_ms=0,
    )


def test_a_furnace_that_is_as_its_file_says_is_not_strange() -> None:
    assert strangeness(model(pull=0.4, residual_k=1.5)) == 0.0


def test_one_that_fits_badly_with_far_factors_is_strange() -> None:
    assert strangeness(model(pull=1.5, residual_k=5.0)) == 1.0


def test_strangeness_grows_between() -> None:
    found = [strangeness(model(pull=1.0, residual_k=k)) for k in (1.0, 1.3, 1.6, 2.0)]
    assert found == sorted(found)
    assert found[0] == 0.0 < found[1] < found[2] < found[3] == pytest.approx(1.0)


def test_nothing_learned_is_strange() -> None:
    assert strangeness(None) == 1.0
    assert strangeness(replace(model(pull=2.0, residual_k=1.0), residual_k={})) == 1.0


@pytest.mark.parametrize("phase", ["solid", "melting", "liquid"])
def test_the_stranger_the_wider_and_never_narrower_than_a_furnace_that_fits(phase: str) -> None:
    found = [width(phase, VARIANCE, strange, 0, dipped=False).heat_j_kg for strange in (0.0, 0.3, 0.7, 1.0)]
    assert found == sorted(found)
    assert found[-1] > 2.0 * found[0]


def test_dip_readings_narrow_what_is_not_known_of_the_liquid() -> None:
    never, learned = (width("liquid", VARIANCE, 1.0, dips, dipped=False).heat_j_kg for dips in (0, 3))
    now = width("liquid", VARIANCE, 1.0, 3, dipped=True).heat_j_kg
    assert now < learned < never
