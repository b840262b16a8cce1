"""The governor: without every single condition the chamber's setpoint is never above the metal's target."""

from math import inf, nan
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from supervisor.firing.governor import RULE, BoostFacts, BoostLimits, cap_c, ends, govern, missing

MET = BoostFacts(
    target_c=740.0,
    at_top=True,
    top_c=850.0,
    limiter_c=900.0,
    no_model="",
    mass_kg=2.0,
    capacity_kg=3.0,
    mass_checked=True,
    mass_doubted=False,
    charged_warm=False,
    drained=True,
    cut_short=False,
    lid_fitted=True,
    lid_moved=True,
    sensor_trusted=True,
    gate_answered=True,
    held=False,
    finding="",
    likely_c=590.0,
    upper_c=600.0,
    half_width_k=30.0,
    liquid=False,
    energy_wh=800.0,
    forecast_wh=1500.0,
    minutes=20.0,
    forecast_minutes=40.0,
    duty=None,
    arrest_duty=None,
    lid_opened=False,
    dip_c=None,
)
"""Two kilograms at 600 °C with every condition met."""

BREAKS: dict[str, dict[str, Any]] = {
    "nothing learned": {"no_model": "learned from one firing only"},
    "no mass": {"mass_kg": None},
    "too much metal": {"mass_kg": 3.5},
    "a mass that is no number": {"mass_kg": nan},
    "mass not checked": {"mass_checked": False},
    "mass doubted": {"mass_doubted": True},
    "pot perhaps not empty": {"drained": False},
    "cut short before": {"cut_short": True},
    "no lid switch": {"lid_fitted": False},
    "lid never moved": {"lid_moved": False},
    "sensor doubted": {"sensor_trusted": False},
    "nobody at the gate": {"gate_answered": False},
    "held": {"held": True},
    "a watch spoke": {"finding": "reading-frozen"},
    "metal not known": {"upper_c": None},
    "an estimate that is no number": {"upper_c": nan},
    "no forecast of energy": {"forecast_wh": None},
    "no forecast of time": {"forecast_minutes": None},
    "limiter too near": {"limiter_c": 790.0},
    "profile's top at the target": {"top_c": 740.0},
    "metal near the target": {"upper_c": 715.0},
    "energy used up": {"energy_wh": 1651.0},
    "energy that is no number": {"energy_wh": nan},
    "time used up": {"minutes": 44.1},
    "duty fallen by half": {"arrest_duty": 0.8, "duty": 0.4},
    "lid opened": {"lid_opened": True},
    "dip reading near": {"dip_c": 711.0},
}


def test_a_boost_goes_to_the_cap_while_the_metal_is_cold() -> None:
    assert govern(740.0, MET, "") == (800.0, True, "")


@given(
    st.sets(st.sampled_from(sorted(BREAKS)), min_size=1),
    st.floats(20.0, 740.0),
    st.floats(300.0, 760.0),
    st.booleans(),
)
def test_whatever_is_missing_the_setpoint_is_never_above_the_target(
    broken: set[str], profile_c: float, upper_c: float, liquid: bool
) -> None:
    facts = MET._replace(upper_c=upper_c, liquid=liquid)
    for name in sorted(broken):
        facts = facts._replace(**BREAKS[name])
    governed = govern(profile_c, facts, "")
    assert governed.setpoint_c <= facts.target_c
    assert not governed.boost


@pytest.mark.parametrize("name", sorted(BREAKS))
def test_each_missing_condition_is_said_and_each_end_is_named(name: str) -> None:
    facts = MET._replace(**BREAKS[name])
    assert missing(facts) or ends(facts)
    governed = govern(740.0, facts, "")
    assert governed.why
    assert governed.setpoint_c <= 740.0


def test_with_everything_met_nothing_is_missing_and_nothing_ends() -> None:
    assert missing(MET) == []
    assert ends(MET) == ""


@given(st.floats(0.0, 1200.0), st.text(min_size=1))
def test_a_boost_that_has_ended_does_not_come_back(upper_c: float, why: str) -> None:
    governed = govern(740.0, MET._replace(upper_c=upper_c), why)
    assert not governed.boost
    assert 740.0 - RULE.below_target_k <= governed.setpoint_c <= 740.0
    assert governed.why == why


@given(st.floats(100.0, 850.0), st.floats(100.0, 1200.0), st.floats(100.0, 1200.0), st.floats(-50.0, 1000.0))
def test_no_setpoint_passes_the_cap(target_c: float, top_c: float, limiter_c: float, upper_c: float) -> None:
    facts = MET._replace(target_c=target_c, top_c=top_c, limiter_c=limiter_c, upper_c=upper_c)
    governed = govern(target_c, facts, "")
    assert governed.setpoint_c <= max(target_c, min(target_c + 60.0, limiter_c - 50.0, top_c))
    assert not governed.boost or governed.setpoint_c == pytest.approx(cap_c(facts))


@given(st.floats(20.0, 739.0), st.floats(0.0, 1000.0))
def test_on_the_way_up_the_profile_is_followed_as_it_is(profile_c: float, upper_c: float) -> None:
    assert govern(profile_c, MET._replace(upper_c=upper_c), "").setpoint_c == profile_c


@pytest.mark.parametrize("facts", [MET._replace(target_c=nan), MET._replace(top_c=nan), MET._replace(limiter_c=nan)])
def test_a_limit_that_is_no_number_leaves_no_room(facts: BoostFacts) -> None:
    governed = govern(740.0, facts, "")
    assert not governed.boost
    assert not governed.setpoint_c > 740.0


def test_a_segment_that_is_not_the_hottest_has_no_boost() -> None:
    assert govern(740.0, MET._replace(at_top=False), "") == (740.0, False, "")


@pytest.mark.parametrize(
    ("likely_c", "setpoint_c"),
    [
        (738.0, 740.0),
        (742.0, 736.0),  # two kelvin down for each that the metal is likely too hot
        (760.0, 715.0),  # and no further than 25
    ],
)
def test_metal_that_is_likely_too_hot_takes_the_chamber_down(likely_c: float, setpoint_c: float) -> None:
    facts = MET._replace(likely_c=likely_c, upper_c=likely_c + 15.0, liquid=True, half_width_k=12.0)
    assert govern(740.0, facts, "it ended").setpoint_c == pytest.approx(setpoint_c)


def test_a_band_too_wide_in_the_liquid_moves_nothing() -> None:
    facts = MET._replace(likely_c=770.0, upper_c=790.0, liquid=True, half_width_k=41.0)
    assert govern(740.0, facts, "it ended").setpoint_c == 740.0
    assert govern(740.0, facts._replace(half_width_k=nan), "it ended").setpoint_c == 740.0


def test_a_furnace_that_is_not_learned_follows_the_profile() -> None:
    facts = MET._replace(no_model="nothing is learned", likely_c=780.0, upper_c=790.0)
    assert govern(740.0, facts, "").setpoint_c == 740.0


def test_the_rule_is_the_default_and_a_benchmark_may_compare_with_other_limits() -> None:
    free = BoostLimits(
        above_target_k=inf, near_target_k=-inf, dip_near_k=-inf, energy_factor=inf, minutes_factor=inf, duty_share=-1.0
    )
    facts = MET._replace(upper_c=735.0, energy_wh=9999.0, minutes=500.0, arrest_duty=0.8, duty=0.1)
    assert not govern(740.0, facts, "").boost
    boosted = govern(740.0, facts, "", free)
    assert boosted.boost
    assert boosted.setpoint_c == pytest.approx(765.0)
    assert govern(740.0, MET, "", free).setpoint_c == 850.0
