"""Holds: where they hold, and how heat comes back."""

import pytest

from supervisor.firing.presses import Asked
from supervisor.firing.profile import top_hold_c
from supervisor.firing.states import HEATED, State
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, melt, running


def past_the_gate(*, start_c: float = 560.0) -> FurnaceAtHand:
    hand = running(melt(rate_c_per_h=1500.0), start_c=start_c)
    hand.run_until(lambda: hand.asked is Asked.GATE, 60.0)
    hand.press()
    hand.answer_everything()
    return hand


def test_a_hold_freezes_at_the_lowest_of_setpoint_reading_and_target() -> None:
    hand = running(bake(to_c=600.0, rate_c_per_h=1200.0), start_c=300.0)
    hand.wait(300.0)
    setpoint_c, reading_c = hand.memory.firing.setpoint_c, hand.reading_c
    assert setpoint_c is not None
    answer = hand.hold()
    held_c = hand.memory.firing.hold_setpoint_c
    assert held_c is not None
    assert held_c == pytest.approx(min(setpoint_c, reading_c, 600.0), abs=1.0)
    assert f"{held_c:.0f} °C" in answer.sentence
    hand.wait(120.0)
    assert hand.memory.firing.setpoint_c == held_c


@pytest.mark.parametrize("after_s", [120, 1500, 3600])  # on the way, melting, at the target
def test_metal_held_for_an_hour_stays_within_fifteen_kelvin_of_the_target(after_s: int) -> None:
    """Simulated: the metal's temperature is the plant's truth."""
    hand = past_the_gate()
    hand.wait(float(after_s))
    target_c = top_hold_c(melt())
    if hand.state is State.RUNNING:
        hand.hold()
    hottest_c = 0.0
    for _ in range(60):
        hand.wait(60.0)
        hottest_c = max(hottest_c, hand.furnace.state.metal_hottest_c)
    assert hottest_c <= target_c + 15.0


def test_going_on_starts_from_the_reading_at_the_segments_rate() -> None:
    hand = running(bake(to_c=600.0, rate_c_per_h=600.0), start_c=300.0)
    hand.wait(300.0)
    hand.hold()
    hand.furnace.inject("mains_low", 0.5)  # it cools while it is held
    hand.wait(400.0)
    hand.furnace.mend("mains_low")
    before_c = hand.reading_c
    assert hand.resume().accepted
    hand.run_until(lambda: hand.state is State.RUNNING, 5.0)
    hand.wait(2.0)
    began_c = hand.memory.firing.setpoint_c
    assert began_c is not None
    assert began_c == pytest.approx(before_c, abs=3.0)
    hand.wait(60.0)
    now_c = hand.memory.firing.setpoint_c
    assert now_c is not None
    assert now_c <= began_c + 60.0 * 600.0 / 3600.0 + 0.5  # no lost time made up


def test_going_on_starts_from_the_reading_also_where_the_governor_had_moved_the_chamber() -> None:
    hand = running(bake(to_c=600.0, rate_c_per_h=600.0), start_c=300.0)
    hand.wait(60.0)
    hand.hold()
    hand.wait(5.0)
    run, before_c = hand.memory.firing.run, hand.reading_c
    assert run is not None
    run.walk.setpoint_c, run.boost.moved_k = before_c + 30.0, -6.0
    assert hand.resume().accepted
    hand.run_until(lambda: hand.state is State.RUNNING, 5.0)
    hand.wait(1.0)
    assert hand.memory.firing.setpoint_c == pytest.approx(before_c, abs=2.5)  # no fast climb back of what never was


def test_after_a_hold_no_more_heat_flows_than_in_a_fresh_start_at_the_same_reading() -> None:
    profile = bake(to_c=600.0, rate_c_per_h=600.0)
    hand = running(profile, start_c=400.0)
    hand.wait(200.0)
    hand.hold()
    hand.wait(300.0)
    hand.resume()
    hand.run_until(lambda: hand.state is State.RUNNING, 5.0)
    reading_c, before_s = hand.reading_c, hand.relay_on_s
    hand.wait(120.0)
    after_hold_s = hand.relay_on_s - before_s
    fresh = running(profile, start_c=reading_c)
    before_s = fresh.relay_on_s
    fresh.wait(120.0)
    assert after_hold_s <= fresh.relay_on_s - before_s + 5.0  # one window of the relay


def test_going_on_runs_the_conditions_again() -> None:
    hand = running(bake(to_c=500.0), start_c=400.0)
    hand.hold()
    hand.wait(1.0)
    hand.memory = hand.memory.with_log(0.0, "The card is full.")
    answer = hand.resume()
    assert not answer.accepted


def test_a_hold_of_more_than_ten_minutes_is_left_by_the_button_alone() -> None:
    hand = running(bake(to_c=500.0), start_c=400.0)
    hand.hold()
    hand.wait(601.0)
    assert hand.resume().accepted
    hand.wait(10.0)
    assert hand.state is State.HELD
    assert hand.asked is Asked.RESUME
    hand.hold_button()
    assert hand.shown()["state"] == "running"


def test_a_hold_above_the_gate_is_left_by_the_button_alone() -> None:
    hand = past_the_gate()
    hand.run_until(lambda: hand.reading_c > 600.0, 900.0)
    hand.stand_in = None
    hand.hold()
    hand.wait(5.0)
    assert hand.resume().accepted
    hand.wait(5.0)
    assert hand.state is State.HELD
    hand.hold_button()
    assert hand.shown()["state"] == "running"


def test_a_short_cool_hold_by_a_person_is_left_by_that_person() -> None:
    hand = running(bake(to_c=500.0), start_c=400.0)
    hand.hold()
    hand.wait(30.0)
    assert hand.state is State.HELD  # not by itself
    assert hand.resume().accepted
    hand.run_until(lambda: hand.state is State.RUNNING, 2.0)


def test_a_hold_without_end_ends_with_the_firings_longest_time() -> None:
    hand = running(bake(to_c=500.0, longest_h=0.5), start_c=400.0)
    hand.hold()
    hand.run_until(lambda: hand.state not in HEATED, 1900.0)
    assert hand.first_cause == "longest-duration"


def test_what_the_controller_wound_up_in_a_hold_is_not_owed_afterwards() -> None:
    """Mains low while held; afterwards heat flows to the second as if the controller had just been made."""

    def relay_s_after_hold(*, forgets: bool) -> float:
        hand = running(bake(to_c=600.0, rate_c_per_h=600.0), start_c=450.0)
        hand.wait(120.0)
        hand.hold()
        hand.furnace.inject("mains_low", 0.7)
        hand.wait(400.0)
        hand.furnace.mend("mains_low")
        if forgets:
            hand.memory.controller.rest()
        hand.resume()
        hand.run_until(lambda: hand.state is State.RUNNING, 5.0)
        before_s = hand.relay_on_s
        hand.wait(120.0)
        return hand.relay_on_s - before_s

    assert relay_s_after_hold(forgets=False) == relay_s_after_hold(forgets=True)
