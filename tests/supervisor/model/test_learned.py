"""What is kept of a fit, when it may be used, and when a person must be asked."""

import json
from dataclasses import replace
from math import log
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from supervisor.furnace.file import read_furnace
from supervisor.model.learned import (
    LIMITS_HEAT,
    MEANS,
    PHASES,
    Model,
    Spread,
    objections,
    parts_digest,
    spread,
    surprising,
    usable_for_boost,
)
from supervisor.model.reduced import FACTORS, prior_sd
from supervisor.model.series import Series

BENCH, WORKSHOP = read_furnace("bench"), read_furnace("workshop")
COUNT = len(FACTORS)


def model(**changes: Any) -> Model:
    made = Model(
        log_factors=(0.0,) * COUNT,
        log_sd=(0.02,) * COUNT,
        covariance=tuple(tuple(0.0004 * (i == j) for j in range(COUNT)) for i in range(COUNT)),
        learned_from=(1, 2, 3),
        metered=True,
        residual_k={"solid": Spread(0.5, 3.0, 80), "liquid": Spread(-1.0, 1.5, 40)},
        low_c=20.0,
        high_c=790.0,
        furnace_digest=parts_digest(BENCH),
        made_utc_ms=1_700_000_000_000,
    )
    return replace(made, **changes)


def moved(name: str, ratio: float, **changes: Any) -> Model:
    """A model with one more firing, in which one factor has changed."""
    factors = [0.0] * COUNT
    factors[FACTORS.index(name)] = log(ratio)
    return model(**{"learned_from": (1, 2, 3, 4), "log_factors": tuple(factors), **changes})


def firing(**changes: Any) -> Series:
    nothing = np.zeros(12)
    fields: dict[str, Any] = {"findings": 0, "outcome": "poured", **changes}
    return Series(nothing, nothing, nothing, nothing > 0.0, 20.0, None, (), (), True, 4, 0, **fields)


# -- kept as text ------------------------------------------------------------------------------------------------


@given(
    logs=st.lists(st.floats(-2.0, 2.0), min_size=COUNT, max_size=COUNT),
    bias_k=st.floats(-50.0, 50.0),
    ids=st.lists(st.integers(1, 10_000), max_size=5),
    metered=st.booleans(),
)
def test_a_model_comes_back_from_its_text(logs: list[float], bias_k: float, ids: list[int], metered: bool) -> None:
    kept = model(
        log_factors=tuple(logs),
        learned_from=tuple(ids),
        metered=metered,
        residual_k={phase: Spread(bias_k, abs(bias_k) + 1.0, 3) for phase in PHASES},
    )
    assert Model.from_json(kept.to_json()) == kept


def test_its_text_names_every_factor_with_what_was_known_before() -> None:
    fields = json.loads(moved("loss", 1.2).to_json())
    assert tuple(fields["factors"]) == FACTORS
    assert fields["factors"]["loss"] == {"log": pytest.approx(log(1.2)), "sd": 0.02, "prior_sd": 0.3}
    assert fields["factors"]["power"]["prior_sd"] < prior_sd(metered=False)["power"]
    assert fields["reading_c"] == [20.0, 790.0]


def spoilt(**changes: Any) -> str:
    return json.dumps({**json.loads(model().to_json()), **changes})


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{}",
        spoilt(factors={"loss": {"log": 0.0, "sd": 0.1, "prior_sd": 0.3}}),
        spoilt(covariance=[[0.0]]),
        spoilt(reading_c=[20.0]),
        spoilt(made_utc_ms=None),
        model().to_json().replace("790.0", "NaN"),
        model().to_json().replace("790.0", "1e999"),
    ],
)
def test_a_text_that_is_no_model_is_refused(text: str) -> None:
    with pytest.raises(ValueError):  # noqa: PT011  the message differs with what is wrong
        Model.from_json(text)


def test_a_factor_itself_is_one_where_the_furnace_file_is_right() -> None:
    assert model().factor("loss") == 1.0
    assert moved("loss", 1.2).factor("loss") == pytest.approx(1.2)


def test_every_factor_has_words_for_a_person() -> None:
    assert tuple(MEANS) == FACTORS


# -- adopted or not ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", FACTORS)
def test_a_factor_that_moves_by_more_than_a_twentieth_needs_a_person(name: str) -> None:
    for ratio in (1.06, 0.94):
        assert len(objections(moved(name, ratio), model(), None, firing())) == 1
    assert objections(moved(name, 1.04), model(), model(), firing()) == []


def test_two_firings_may_move_a_factor_twice_as_far() -> None:
    assert objections(moved("loss", 1.09, learned_from=(1, 2, 3, 4, 5)), model(), None, firing()) == []
    assert objections(moved("loss", 1.12, learned_from=(1, 2, 3, 4, 5)), model(), None, firing()) != []


def test_a_firing_that_was_refused_buys_no_further_way() -> None:
    after = moved("loss", 1.09, learned_from=(1, 2, 3, 4, 5))
    assert objections(after, model(), None) == []
    assert len(objections(after, model(), None, refused=[4])) == 1


@pytest.mark.parametrize("name", LIMITS_HEAT)
def test_what_limits_heat_is_not_taken_beyond_half_or_double_of_the_furnace_file_without_a_person(name: str) -> None:
    for ratio, against in ((0.45, 1), (0.55, 0), (1.9, 0), (2.2, 1)):
        assert len(objections(moved(name, ratio), None, None)) == against


def test_small_steps_do_not_carry_a_model_away_from_the_commissioning_fit() -> None:
    adopted = moved("loss", 1.28, learned_from=(1, 2, 3))
    assert objections(moved("loss", 1.29), adopted, model(), firing()) == []
    (sentence,) = objections(moved("loss", 1.32), adopted, model(), firing())
    assert "commissioned" in sentence
    assert "132 %" in sentence


@pytest.mark.parametrize(("changes", "says"), [({"findings": 1}, "watches"), ({"outcome": ""}, "confirmed mass")])
def test_a_doubtful_firing_teaches_nothing_by_itself(changes: dict[str, Any], says: str) -> None:
    (sentence,) = objections(model(), model(), model(), firing(), firing(**changes))
    assert says in sentence
    assert "firing 4" in sentence


def test_while_fewer_than_three_firings_are_learned_a_fit_may_move() -> None:
    assert objections(moved("loss", 1.5), model(learned_from=(1, 2)), None, firing()) == []
    assert objections(moved("loss", 1.5), None, None, firing()) == []


def test_a_number_that_is_none_is_an_objection() -> None:
    broken = moved("loss", 1.0, log_factors=(float("nan"),) * COUNT)
    assert len(objections(broken, model(), None, firing())) == COUNT + len(LIMITS_HEAT)
    assert surprising(broken, model())


# -- what a person is told ---------------------------------------------------------------------------------------


def test_a_factor_that_jumps_is_a_message() -> None:
    (sentence,) = surprising(moved("loss", 1.25), model())
    assert sentence.startswith("The loss through the lining is 125 % of what it was")
    assert surprising(moved("loss", 1.1), model()) == []


def test_when_everything_jumps_three_messages_are_enough() -> None:
    jumped = model(learned_from=(1, 2, 3, 4), log_factors=tuple(0.2 + 0.01 * n for n in range(COUNT)))
    sentences = surprising(jumped, model())
    assert len(sentences) == 4
    assert sentences[0].startswith(MEANS[FACTORS[-1]].capitalize())
    assert f"{COUNT - 3} more" in sentences[-1]


def test_on_its_way_from_the_furnace_file_a_factor_may_move_by_its_standard_error() -> None:
    before = model(learned_from=(1,), log_sd=(0.2,) * COUNT)
    assert surprising(moved("loss", 1.6), before) == []
    assert surprising(moved("loss", 2.2), before) != []


# -- boost -------------------------------------------------------------------------------------------------------


def test_a_model_of_three_firings_on_this_furnace_allows_a_boost() -> None:
    assert usable_for_boost(model(), BENCH) is None


def test_fewer_firings_or_other_parts_do_not() -> None:
    assert "2 of 3" in (usable_for_boost(model(learned_from=(1, 2)), BENCH) or "")
    assert "1 of 3" in (usable_for_boost(model(learned_from=(5, 5, 5)), BENCH) or "")
    assert usable_for_boost(model(), WORKSHOP) is not None
    heavier = replace(BENCH, crucible=replace(BENCH.crucible, mass_kg=1.2))
    assert usable_for_boost(model(), heavier) is not None
    assert usable_for_boost(model(), replace(BENCH, title="Mine", digest="0", pulses_per_kwh=None)) is None


def test_a_spread_is_bias_rms_and_number() -> None:
    found = spread([3.0, -1.0, 4.0])
    assert (found.bias, found.n) == (2.0, 3)
    assert found.rms == pytest.approx((26.0 / 3.0) ** 0.5)
