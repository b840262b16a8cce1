"""Whatever is learned later, no limit becomes wider than with the model that the furnace was commissioned with.

Where a learned value enters a limit, all of it through `Adviser`: the energy allowance and the duty beyond it (settled
duty), the energy and the time that end a boost, what an addition adds to either, and the reading that is expected of
the entered mass. Two of them are not bound to that first model: the minutes that an addition arms a boost for, and the
expected reading; `python -m tests.campaigns.poison` prints what the latter costs. No other watch knows a model: see
`test_watches_that_know_no_model_are_as_quick`.
"""

from math import log
from pathlib import Path

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from supervisor.model.learned import (
    LEAST_FIRINGS,
    LIMITS_HEAT,
    MOST_FROM_COMMISSIONING,
    Model,
    objections,
    parts_digest,
)
from supervisor.model.reduced import FACTORS
from tests.campaigns.poison import BENCH, MOST, Life, Poison, compare, live, plan, wider, worn
from tests.campaigns.struck import STRIKES, limits_of, strike

LIGHT = plan(0.2)
"""A small melt: little to reckon."""

QUICK = (Phase.explicit, Phase.reuse, Phase.generate)
"""A forecast takes a quarter of a second: a failing example is shown as it was found."""

MOST_LOG = 0.999 * log(1.0 + MOST_FROM_COMMISSIONING)
factors = st.lists(st.floats(-1.0, 1.0), min_size=len(FACTORS), max_size=len(FACTORS))


def _model(log_factors: list[float], firings: int = LEAST_FIRINGS) -> Model:
    sd = 0.02
    return Model(
        log_factors=tuple(log_factors),
        log_sd=(sd,) * len(FACTORS),
        covariance=tuple(
            tuple(sd**2 * (row == column) for column in range(len(FACTORS))) for row in range(len(FACTORS))
        ),
        learned_from=tuple(range(1, firings + 1)),
        metered=True,
        residual_k={},
        low_c=20.0,
        high_c=780.0,
        furnace_digest=parts_digest(BENCH.described),
        made_utc_ms=0,
    )


STEPS = 1.03
"""Courses side by side are stepped as finely as the stiffest of them needs, so the first model's own course comes out a
little otherwise beside another model: by 1.2 % in the worst that was found. What a model moves is up to `MOST_LOG`."""


@settings(max_examples=12, deadline=None, phases=QUICK)
@given(factors, factors)
def test_no_model_that_may_be_adopted_widens_a_limit(first: list[float], moved: list[float]) -> None:
    commissioning = _model([0.3 * share for share in first])
    later = _model([base + MOST_LOG * share for base, share in zip(commissioning.log_factors, moved, strict=True)], 9)
    assert objections(later, None, commissioning) == []
    with_first = limits_of(BENCH.described, LIGHT, commissioning, commissioning)
    with_later = limits_of(BENCH.described, LIGHT, later, commissioning)
    assert with_first.learned
    assert with_later.learned
    assert with_later.allowance_wh <= STEPS * with_first.allowance_wh
    assert with_later.beyond_duty <= with_first.beyond_duty
    assert with_later.boost_wh <= STEPS * with_first.boost_wh
    assert with_later.boost_min <= STEPS * with_first.boost_min


@settings(max_examples=12, deadline=None, phases=QUICK)
@given(factors)
def test_a_learned_allowance_is_never_over_the_data_sheets(first: list[float]) -> None:
    commissioning = _model([0.6 * share for share in first])
    by_data_sheets = limits_of(BENCH.described, LIGHT, None, None)
    assert not by_data_sheets.learned
    assert limits_of(BENCH.described, LIGHT, commissioning, commissioning).allowance_wh <= by_data_sheets.allowance_wh


@settings(max_examples=6, deadline=None, phases=QUICK)
@given(factors, st.integers(0, LEAST_FIRINGS - 1))
def test_a_model_of_too_few_firings_changes_no_limit(moved: list[float], firings: int) -> None:
    assert limits_of(BENCH.described, LIGHT, _model(moved, firings), None) == limits_of(
        BENCH.described, LIGHT, None, None
    )


@pytest.mark.parametrize("name", LIMITS_HEAT)
def test_a_factor_beyond_half_or_double_of_the_data_sheets_needs_a_person(name: str) -> None:
    for value, against in ((0.69, 0), (-0.69, 0), (0.71, 1), (-0.71, 1)):
        log_factors = [0.0] * len(FACTORS)
        log_factors[FACTORS.index(name)] = value
        assert len(objections(_model(log_factors), None, None)) == against


def test_watches_that_know_no_model_are_as_quick() -> None:
    commissioning = _model([0.0] * len(FACTORS))
    later = _model([MOST_LOG] * len(FACTORS), 9)
    what = STRIKES["element"]._replace(after_s=120.0)
    times_s = [
        strike(what, worn(Poison(""), 0), BENCH.described, LIGHT, (model, commissioning), 1).at_s["meter-disagrees"]
        for model in (commissioning, later)
    ]
    assert times_s[1] <= MOST * times_s[0]


@pytest.fixture(scope="module")
def life(tmp_path_factory: pytest.TempPathFactory) -> Life:
    """Four small melts, the first three of which commission the furnace, while its sensor comes out of its hole."""
    place: Path = tmp_path_factory.mktemp("poison") / "data"
    return live(Poison("", slip=0.005), 4, 1, place, shares=(0.1, 0.2, 0.15))


def test_a_furnace_that_goes_slowly_wrong_is_learned_and_widens_no_limit(life: Life) -> None:
    assert life.first_after == LEAST_FIRINGS
    assert [limits.learned for limits in life.limits] == [False, False, True, True]
    assert wider(life) == []


def test_half_the_mass_is_told_as_soon_as_on_day_one(life: Life) -> None:
    rows = list(compare(Poison("", slip=0.005), life, 4, 1, ["half mass"]))
    assert "mass doubted" in {row.step for row in rows}
    assert [row for row in rows if not row.holds] == []
