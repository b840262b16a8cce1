"""Meter and current input: what they say of a relay, an element and the mains, and how soon. Simulated."""

import pytest

from supervisor.firing.power import LOOK_SHARE, LOW_DUTY, look_s
from supervisor.firing.states import HEATED, State
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake
from tests.supervisor.watches.equipped import CURRENT_ALONE, WITH_CURRENT, WITHOUT_METER, started


def holding(described: object, *, to_c: float = 520.0) -> FurnaceAtHand:
    hand = started(described, bake(to_c=to_c), start_c=500.0)  # type: ignore[arg-type]
    hand.wait(300.0)
    return hand


A_WINDOW_AND_TWO_LOOKS_S = 6.0
"""At a low duty heat is ordered once in a window of 5 s: nothing can be said before."""


@pytest.mark.parametrize("fault", ["element_broken", "relay_stuck_off", "current_input_stuck_off"])
@pytest.mark.parametrize("described", [WITH_CURRENT, CURRENT_ALONE], ids=["meter and current input", "current input"])
def test_no_current_ends_the_heat_within_a_window_meter_or_not(described: object, fault: str) -> None:
    hand = holding(described)
    hand.inject(fault)
    took_s = hand.run_until(lambda: not hand.level("contactor"), 60.0)
    assert took_s <= A_WINDOW_AND_TWO_LOOKS_S
    assert hand.first_cause == "no-current"


def test_one_stray_pulse_takes_the_heat_for_seconds_and_is_no_alarm() -> None:
    hand = holding(BENCH)
    hand.run_until(lambda: hand.memory.firing.power.off_since_s is not None, 20.0)
    hand.wait(1.0)
    hand.furnace.energy_pulses += 1
    hand.wait(0.5)
    hand.run_until(lambda: hand.level("relay"), 12.0)
    assert hand.state is State.RUNNING
    assert hand.alarms() == []


@pytest.mark.parametrize("seed", range(6))
def test_a_relay_that_does_not_let_go_waits_for_no_further_window_once_a_pulse_has_told(seed: int) -> None:
    hand = started(BENCH, bake(to_c=800.0, rate_c_per_h=900.0), start_c=500.0, seed=seed)
    hand.wait(120.0 + seed)
    hand.inject("relay_stuck_on")
    hand.run_until(lambda: hand.memory.firing.power.off_pulses_s[1] > 0.0, 200.0)
    assert not hand.level("relay")
    assert hand.run_until(lambda: not hand.level("contactor"), 60.0) <= 2.0


@pytest.mark.parametrize(("described", "within_s"), [(BENCH, 4.0), (CURRENT_ALONE, 0.75), (WITH_CURRENT, 0.75)])
def test_when_full_power_ends_the_relay_has_to_show_at_once_that_it_lets_go(described: object, within_s: float) -> None:
    hand = started(described, bake(to_c=640.0, rate_c_per_h=6000.0), start_c=300.0)  # type: ignore[arg-type]
    hand.wait(200.0)
    hand.inject("relay_stuck_on")
    hand.run_until(lambda: 0.0 < hand.memory.firing.duty < LOW_DUTY, 600.0)
    assert not hand.level("relay")
    assert hand.run_until(lambda: not hand.level("contactor"), 60.0) <= within_s


@pytest.mark.parametrize("seed", range(6))
def test_at_a_look_two_pulses_tell_and_silence_with_the_contactor_out_trips(seed: int) -> None:
    hand = started(BENCH, bake(to_c=640.0, rate_c_per_h=6000.0), start_c=300.0, seed=seed)
    hand.wait(200.0 + 0.25 * seed)
    hand.inject("relay_stuck_on")
    hand.run_until(lambda: 0.0 < hand.memory.firing.duty < LOW_DUTY, 600.0)
    assert hand.run_until(lambda: not hand.level("contactor"), 60.0) <= 4.0
    hand.run_until(lambda: hand.state not in HEATED, 60.0)
    assert hand.alarms() == ["power-when-off", "power-without-command"]


def test_where_off_times_are_short_the_relay_shows_all_the_same_that_it_lets_go() -> None:
    """And a look that was begun is not broken off: a ramp asks for full power again."""
    hand = started(BENCH, bake(to_c=640.0, rate_c_per_h=2000.0), start_c=300.0)
    takes_s = look_s(BENCH)
    assert takes_s is not None
    low_since_s, off_s, looked_s, longest_s = hand.now_s, 0.0, hand.now_s, 0.0
    low: list[float] = []
    while hand.now_s < low_since_s + 500.0:
        hand.wait(0.25)
        duty = hand.memory.firing.duty
        low.append(duty if 0.0 < duty < LOW_DUTY else 0.0)
        off_s = 0.0 if hand.level("relay") else off_s + 0.25
        if off_s >= takes_s or not low[-1]:
            looked_s = hand.now_s
        longest_s = max(longest_s, hand.now_s - looked_s)
    assert longest_s <= takes_s / LOOK_SHARE + takes_s + 0.5
    assert sum(duty > 0.55 for duty in low) > 240, "a minute with off-times shorter than a look"


def test_a_healthy_relay_is_looked_at_for_seconds_and_heats_on() -> None:
    hand = started(BENCH, bake(to_c=640.0, rate_c_per_h=6000.0), start_c=300.0)
    hand.run_until(lambda: 0.0 < hand.memory.firing.duty < LOW_DUTY, 600.0)
    assert hand.run_until(lambda: hand.level("relay"), 60.0) <= 3.5
    assert hand.alarms() == []


@pytest.mark.parametrize("fault", ["element_broken", "relay_stuck_off"])
def test_no_power_at_all_is_not_told_as_low_mains(fault: str) -> None:
    hand = started(BENCH, bake(to_c=800.0, rate_c_per_h=500.0), start_c=300.0)
    hand.run_until(lambda: hand.memory.firing.power.ratio_before() is not None, 1500.0)
    hand.inject(fault)
    hand.run_until(lambda: hand.state not in HEATED, 300.0)
    assert "mains-low" not in hand.alarms()


def test_turns_that_touch_are_seen_also_where_the_mains_is_low() -> None:
    hand = started(BENCH, bake(to_c=800.0, rate_c_per_h=3000.0), start_c=20.0)
    hand.inject("mains_low", 0.95)
    hand.wait(300.0)
    assert hand.alarms() == []
    hand.inject("element_shorted", 0.8)
    hand.run_until(lambda: "element-shorted" in hand.alarms(), 120.0)


def test_turns_that_touch_are_seen_within_five_minutes_where_little_heat_is_ordered() -> None:
    hand = started(BENCH, bake(to_c=800.0, rate_c_per_h=450.0), start_c=20.0)
    hand.wait(600.0)
    assert 0.0 < hand.memory.firing.duty < 0.2
    assert hand.alarms() == []
    hand.inject("element_shorted", 0.8)
    assert hand.run_until(lambda: "element-shorted" in hand.alarms(), 400.0) <= 300.0


def test_what_leaks_through_a_relay_is_not_taken_for_a_high_mains() -> None:
    hand = holding(BENCH)
    hand.inject("relay_stuck_on")
    before = hand.memory.adviser.meter.steps[-1][1]
    hand.run_until(lambda: hand.memory.firing.power.off_pulses_s[0] > 0.0, 60.0)
    hand.wait(1.0)
    power, steps = hand.memory.firing.power, hand.memory.adviser.meter.steps
    assert steps[-1][1] == power.fair
    assert steps[-1][1] - before <= 2


def test_noise_that_comes_and_goes_is_told_once() -> None:
    hand = holding(WITHOUT_METER)
    hand.inject("sensor_noisy", 1.6)
    hand.wait(600.0)
    assert hand.alarms().count("sensor-noisy") == 1


def test_a_finding_that_stands_is_kept_by_the_cycle_as_it_begins_and_then_by_the_second() -> None:
    hand = started(BENCH, bake(to_c=800.0, rate_c_per_h=900.0), start_c=20.0)
    hand.inject("mains_low", 0.9)
    hand.run_until(lambda: "mains-low" in hand.alarms(), 900.0)
    first = len(hand.rows())
    hand.wait(20.0)
    assert len(hand.rows()) - first == 80
    hand.wait(40.0)
    later = len(hand.rows())
    hand.wait(60.0)
    assert len(hand.rows()) - later == 60
