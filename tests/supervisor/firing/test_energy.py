"""The energy allowance and the longest time: what ends a firing whose sensor lies or whose person is gone."""

from collections.abc import Callable
from functools import partial

import pytest

from supervisor.firing.presses import Asked
from supervisor.firing.states import HEATED, LIVE, State
from supervisor.furnace.reckoning import settled_duty
from supervisor.rehearsal.copied import in_a_copy
from tests.supervisor.firing.knowing import boosted_melt, charged, knowing
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake, furnace_at_hand, melt, running


def spent() -> FurnaceAtHand:
    """A firing that has just used its allowance up."""
    hand = running(bake(to_c=600.0, hold_s=7200.0), start_c=450.0)
    run = hand.memory.firing.run
    assert run is not None
    run.allowance_wh = run.energy_wh + 20.0
    hand.run_until(lambda: "energy-allowance" in hand.alarms(), 600.0)
    return hand


def test_beyond_the_allowance_no_more_flows_than_holds_the_target() -> None:
    hand = spent()
    ceiling = 1.3 * settled_duty(BENCH, 600.0)
    before_s = hand.relay_on_s
    hand.wait(600.0)
    assert hand.state is State.RUNNING
    assert (hand.relay_on_s - before_s) / 600.0 <= ceiling + 5.0 / 600.0


def test_a_press_adds_a_tenth_twice_and_not_a_third_time() -> None:
    hand = spent()
    run = hand.memory.firing.run
    assert run is not None
    allowed_wh = run.allowance_wh
    for tenths in (1, 2):
        hand.run_until(lambda: hand.asked is Asked.ALLOWANCE, 3600.0)
        hand.press()
        assert run.tenths == tenths
        assert run.allowed_wh == pytest.approx(allowed_wh * (1.0 + 0.1 * tenths))
    for _ in range(600):
        hand.wait(1.0)
        assert hand.asked is not Asked.ALLOWANCE


def test_nobody_pressing_adds_nothing() -> None:
    hand = spent()
    run = hand.memory.firing.run
    assert run is not None
    hand.wait(900.0)
    assert run.tenths == 0


def hottest_face_c(after_min: int, *, allowance: bool) -> float:
    """A sensor creeps out within 20 min; the limiter is out of reach; somebody answers every lamp. Simulated."""
    hand = furnace_at_hand("workshop", limiter_c=2000.0)
    hand.start(melt(rate_c_per_h=600.0))
    hand.answer_everything()
    run = hand.memory.firing.run
    assert run is not None
    if not allowance:
        run.allowance_wh = 1e6
    hand.wait(after_min * 60.0)
    return crept_c(hand)


def crept_c(hand: FurnaceAtHand) -> float:
    """The sensor creeps out of its place: the hottest face until the firing ends."""
    hand.inject("sensor_creep", 20.0)
    hottest_c = 0.0
    while hand.state in LIVE:
        hand.wait(30.0)
        hottest_c = max(hottest_c, hand.furnace.state.hot_face_c)
    return hottest_c


def test_a_sensor_that_creeps_out_while_it_heats_is_noticed_long_before_the_limiter() -> None:
    """From data sheets the allowance alone would let it go on to some 1070 °C: the model's watches speak first."""
    assert hottest_face_c(5, allowance=True) <= 900.0
    assert hottest_face_c(5, allowance=False) <= 900.0


def test_a_sensor_that_creeps_out_at_the_hold_stays_below_900() -> None:
    assert hottest_face_c(75, allowance=True) <= 900.0


def test_a_learned_allowance_keeps_a_creeping_sensor_below_900_without_the_limiter() -> None:
    hand = knowing(limiter_c=2000.0)
    charged(hand, boosted_melt())
    for more_min in (5, 25, 45):  # on the way, melting, at the target
        hand.wait(more_min * 60.0)
        assert hand.state in LIVE
        assert in_a_copy(partial(crept_c, hand)) <= 900.0


@pytest.mark.parametrize("mass_kg", [1.0, 3.0])
def test_a_healthy_learned_melt_is_never_held_back_by_its_allowance(mass_kg: float) -> None:
    hand = knowing()
    charged(hand, boosted_melt(mass_kg=mass_kg))
    hand.run_until(lambda: hand.furnace.state.metal_coldest_c >= 720.0, 7200.0)
    run = hand.memory.firing.run
    assert run is not None
    assert run.energy_wh <= run.allowed_wh
    hand.wait(1200.0)  # and nobody is asked while it holds
    assert hand.alarms() == []


def knowing_hot() -> FurnaceAtHand:
    """One that is learned, on its way from 500 °C."""
    hand = knowing(start_c=500.0)
    charged(hand, boosted_melt())
    return hand


@pytest.mark.parametrize("begun", [knowing_hot, partial(running, bake(to_c=700.0, hold_s=600.0), start_c=500.0)])
def test_a_lid_that_was_open_brings_what_went_out(begun: Callable[[], FurnaceAtHand]) -> None:
    hand = begun()
    hand.wait(300.0)
    run = hand.memory.firing.run
    assert run is not None
    before_wh = run.allowance_wh
    hand.furnace.lid(open=True)
    hand.wait(60.0)
    hand.furnace.lid(open=False)
    hand.wait(10.0)
    assert 5.0 <= run.allowance_wh - before_wh <= 60.0


def test_at_the_target_a_spent_allowance_is_asked_about_and_is_no_alarm() -> None:
    hand = knowing(start_c=700.0)
    charged(hand, boosted_melt(mass_kg=0.6))
    hand.answer_everything()
    hand.run_until(lambda: hand.reading_c > 735.0, 5400.0)
    run = hand.memory.firing.run
    assert run is not None
    assert run.was_ready
    hand.wait(600.0)
    run.allowance_wh, run.beyond_duty = run.energy_wh, 0.1  # as if it lost more than it did
    hand.run_until(lambda: run.tenths == 1, 1800.0)  # asked, and answered
    assert "energy-allowance" not in hand.alarms()


def allowance_after_a_hold_wh(hand: FurnaceAtHand, *, creeps: bool = False) -> tuple[float, float]:
    """Held for 20 min: by how much the allowance grew, and what was used meanwhile, Wh."""
    run = hand.memory.firing.run
    assert run is not None
    hand.hold()
    if creeps:
        hand.inject("sensor_drift", -5.0)
    allowed_wh, used_wh = run.allowance_wh, run.energy_wh
    hand.wait(1200.0)
    return run.allowance_wh - allowed_wh, run.energy_wh - used_wh


def test_what_a_hold_on_the_way_loses_is_allowed_for_and_what_a_drifting_sensor_draws_in_it_is_not() -> None:
    hand = knowing()
    charged(hand, boosted_melt())
    hand.answer_everything()
    hand.run_until(lambda: hand.reading_c >= 400.0, 3600.0)
    healthy_wh, used_wh = in_a_copy(partial(allowance_after_a_hold_wh, hand))
    assert 0.2 * used_wh <= healthy_wh <= used_wh  # the rest warms the lining, which the way needs anyway
    grew_wh, used_wh = allowance_after_a_hold_wh(hand, creeps=True)
    assert used_wh > grew_wh + 20.0
    assert grew_wh <= 1.3 * healthy_wh


def test_the_longest_time_ends_it_whatever_else() -> None:
    hand = running(bake(to_c=500.0, hold_s=36000.0, longest_h=0.25), start_c=450.0)
    took_s = hand.run_until(lambda: hand.state not in HEATED, 1000.0)
    run = hand.memory.firing.run
    assert run is not None
    assert hand.now_s - run.began_s == pytest.approx(900.0, abs=2.0)
    assert took_s < 900.0
    assert hand.first_cause == "longest-duration"


def test_beyond_the_allowance_the_duty_is_a_third_above_the_settled_one_and_no_more() -> None:
    hand = running(bake(to_c=800.0, rate_c_per_h=2000.0), start_c=450.0)
    hand.wait(60.0)
    run = hand.memory.firing.run
    assert run is not None
    run.allowance_wh = run.energy_wh
    hand.run_until(lambda: "energy-allowance" in hand.alarms(), 60.0)
    hand.run_until(lambda: hand.reading_c < (hand.memory.firing.setpoint_c or 0.0) - 15.0, 900.0)
    assert hand.memory.firing.duty == pytest.approx(1.3 * settled_duty(BENCH, 800.0), rel=1e-6)


def test_energy_is_counted_as_ordered_and_as_metered_and_the_larger_counts() -> None:
    hand = running(bake(to_c=600.0), start_c=450.0)
    before = hand.furnace.state.supplied_j
    run = hand.memory.firing.run
    assert run is not None
    metered_wh, ordered_wh, relay_s = run.metered_wh, run.ordered_wh, hand.relay_on_s
    hand.wait(600.0)
    supplied_wh = (hand.furnace.state.supplied_j - before) / 3600.0
    assert run.metered_wh - metered_wh == pytest.approx(supplied_wh, abs=1.0)  # one pulse
    assert run.ordered_wh - ordered_wh == pytest.approx(
        (hand.relay_on_s - relay_s) * BENCH.full_power_w / 3600.0, rel=0.01
    )
    assert run.energy_wh == max(run.metered_wh, run.ordered_wh)


def test_a_meter_that_counts_less_than_was_ordered_is_not_believed_alone() -> None:
    hand = running(bake(to_c=600.0), start_c=450.0)
    hand.furnace.inject("meter_stuck")
    hand.wait(25.0)
    run = hand.memory.firing.run
    assert run is not None
    assert run.ordered_wh > run.metered_wh
    assert run.energy_wh == run.ordered_wh


def test_a_meter_that_counts_more_than_was_ordered_is() -> None:
    hand = running(bake(to_c=600.0), start_c=450.0)
    hand.furnace.inject("mains_low", 1.15)  # over its nominal voltage
    hand.wait(900.0)
    run = hand.memory.firing.run
    assert run is not None
    assert run.metered_wh > run.ordered_wh + 5.0
    assert run.energy_wh == run.metered_wh
