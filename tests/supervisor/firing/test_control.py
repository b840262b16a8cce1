"""From setpoint to relay: no overshoot with a late sensor, every ceiling binds, the relay switches once a window."""

from math import exp, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from supervisor.firing.control import Aim, Controller, chamber_leads_by_s, tuning, window
from supervisor.firing.feed_forward import FeedForward
from supervisor.firing.states import State
from supervisor.furnace.description import FurnaceDescription
from tests.supervisor.firing.knowing import as_described, knowing
from tests.supervisor.furnace_at_hand import BENCH, WORKSHOP, FurnaceAtHand, bake, furnace_at_hand


@pytest.mark.parametrize("name", ["bench", "workshop"])
@pytest.mark.parametrize(("rate_c_per_h", "to_c"), [(900.0, 150.0), (1200.0, 300.0), (600.0, 520.0)])
def test_a_ramp_from_cold_does_not_pass_its_end_by_more_than_eight_kelvin(
    name: str, rate_c_per_h: float, to_c: float
) -> None:
    hand = furnace_at_hand(name)
    hand.start(bake(to_c=to_c, rate_c_per_h=rate_c_per_h, hold_s=900.0))
    hand.answer_everything()
    hand.run_until(lambda: hand.state is State.COMPLETE, 9000.0)
    run = hand.memory.firing.run
    assert run is not None
    assert run.overshoot_c <= 8.0
    assert run.peak_c >= to_c - 3.0


def test_a_hold_is_quiet() -> None:
    hand = furnace_at_hand("bench", start_c=600.0)
    hand.start(bake(to_c=600.0, hold_s=7200.0))
    hand.answer_everything()
    hand.wait(3600.0)
    readings = []
    for _ in range(1200):
        hand.wait(1.0)
        readings.append(hand.memory.history.hot_c() or 0.0)
    smooth = [sum(readings[at : at + 10]) / 10 for at in range(0, 1200, 10)]
    assert max(smooth) - min(smooth) <= 1.0


def errors_k(hand: FurnaceAtHand, *, from_s: float, seconds: int) -> list[float]:
    """Reading less setpoint, once a second, from from_s after now; somebody gives signs meanwhile."""
    hand.answer_everything()
    hand.wait(from_s)
    found = []
    for _ in range(seconds):
        hand.wait(1.0)
        found.append((hand.memory.history.hot_c() or 0.0) - (hand.memory.firing.setpoint_c or 0.0))
    return found


@pytest.mark.parametrize("name", ["bench", "workshop"])
@pytest.mark.parametrize(("to_c", "rate_c_per_h", "minutes"), [(110.0, 100.0, 50), (520.0, 600.0, 50)])
def test_a_learned_furnace_follows_a_ramp_from_cold(name: str, to_c: float, rate_c_per_h: float, minutes: int) -> None:
    hand = knowing(name)
    hand.start(bake(to_c=to_c, rate_c_per_h=rate_c_per_h))
    found_k = errors_k(hand, from_s=300.0, seconds=60 * (minutes - 5))
    assert sqrt(sum(error**2 for error in found_k) / len(found_k)) <= 2.0
    assert max(map(abs, found_k)) <= 8.0


def test_plain_control_is_simple_pid_alone() -> None:
    """Far below the setpoint its duty is its gain times the error, and nothing that is expected of the furnace."""
    controller = Controller(tuning(BENCH), FeedForward(BENCH, None), plain=True)
    duty = controller.duty(Aim(500.0, 0.1, 600.0), 490.0, 0.1, 1.0, 1.0)
    of = tuning(BENCH)
    assert duty == pytest.approx(of.gain_per_k * 10.0 * (1.0 + 1.0 / of.integral_s), rel=1e-6)


def test_a_hot_lining_takes_up_less_than_a_cold_one() -> None:
    cold, warm = FeedForward(BENCH, None), FeedForward(BENCH, None)
    for expected, hours in ((cold, 0.1), (warm, 5.0)):
        expected.follow(20.0, 5.0)
        for _ in range(round(hours * 720.0)):
            expected.follow(600.0, 5.0)
    assert cold.duty(600.0, 0.0) > 1.5 * warm.duty(600.0, 0.0)
    assert warm.duty(600.0, 0.0) == pytest.approx(warm.settled_duty(600.0), rel=0.25)


def test_a_lining_that_stores_more_asks_for_more_duty_on_a_ramp() -> None:
    heavy, usual = FeedForward(BENCH, as_described(BENCH, capacity=0.7)), FeedForward(BENCH, None)
    for minute in range(60):
        for expected in (heavy, usual):
            expected.follow(20.0 + 8.0 * minute, 60.0)
    assert heavy.duty(500.0, 8.0 / 60.0) > 1.2 * usual.duty(500.0, 8.0 / 60.0) > 0.0


def test_what_is_learned_scales_what_is_expected() -> None:
    lossy = FeedForward(BENCH, as_described(BENCH, loss=0.3, leak=0.3))
    assert lossy.settled_duty(700.0) > 1.2 * FeedForward(BENCH, None).settled_duty(700.0)
    strong = FeedForward(BENCH, as_described(BENCH, power=0.1))
    assert strong.settled_duty(700.0) == pytest.approx(FeedForward(BENCH, None).settled_duty(700.0) / exp(0.1))


def controller_of(furnace: FurnaceDescription) -> Controller:
    return Controller(tuning(furnace), FeedForward(furnace, None))


def test_a_cold_sheath_is_late_and_a_hot_one_is_as_tuned() -> None:
    assert chamber_leads_by_s(20.0) > 200.0
    assert chamber_leads_by_s(740.0) == 0.0
    assert chamber_leads_by_s(900.0) == 0.0


@given(st.floats(0.0, 900.0), st.floats(-1.0, 1.0), st.floats(-50.0, 1300.0), st.floats(0.0, 1.0), st.integers(1, 50))
def test_duty_stays_between_nothing_and_the_ceiling(
    setpoint_c: float, ramp: float, reading_c: float, ceiling: float, times: int
) -> None:
    controller = controller_of(WORKSHOP)
    for _ in range(times):
        assert 0.0 <= controller.duty(Aim(setpoint_c, ramp, 900.0), reading_c, 0.1, 1.0, ceiling) <= ceiling


def test_what_was_held_back_does_not_come_out_later() -> None:
    """An hour far below the setpoint under a low ceiling, then at the setpoint: no wound-up integral is left."""
    controller, aim = controller_of(BENCH), Aim(740.0, 0.0, 740.0)
    for _ in range(3600):
        controller.duty(aim, 600.0, 0.0, 1.0, 0.1)
    at_setpoint = [controller.duty(aim, 741.0, 0.0, 1.0, 1.0) for _ in range(3)]
    assert max(at_setpoint) <= 0.35  # the settled duty there is about 0.18


@given(st.floats(0.01, 1.0), st.integers(20, 60))
def test_the_relay_is_on_for_its_share_and_switches_once_a_window(duty: float, windows: int) -> None:
    shaper = window(5.0)
    levels = [shaper.relay(duty) for _ in range(20 * windows)]
    assert abs(sum(levels) / len(levels) - duty) <= 1.0 / len(levels) * 2
    for number in range(windows):
        inside = levels[20 * number : 20 * number + 20]
        assert sum(now and not before for before, now in zip([False, *inside], inside, strict=False)) <= 1


def test_no_duty_is_off_at_once() -> None:
    shaper = window(5.0)
    assert [shaper.relay(1.0) for _ in range(3)] == [True] * 3
    assert shaper.relay(0.0) is False
