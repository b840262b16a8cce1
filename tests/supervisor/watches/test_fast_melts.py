"""Watches that go by the model, in a melt that is heated as fast as the furnace can. Simulated."""

from supervisor.firing.states import HEATED, State
from supervisor.watches.model import OverSetpoint
from tests.supervisor.firing.knowing import boosted_melt, charged, knowing
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, furnace_at_hand


def hot_and_solid(to_c: float) -> FurnaceAtHand:
    hand = knowing()
    charged(hand, boosted_melt(mass_kg=2.0))
    hand.run_until(lambda: hand.reading_c > to_c, 2400.0)
    return hand


def test_a_lid_that_nobody_sees_is_told_at_full_power_too() -> None:
    hand = hot_and_solid(460.0)
    hand.inject("lid_switch_stuck_closed")
    hand.furnace.lid(open=True)
    hand.run_until(lambda: hand.state not in HEATED, 50.0)
    assert hand.first_cause == "colder-than-power"


def test_a_meter_that_stands_still_does_not_end_a_melt_that_waits_at_the_gate_after_a_fast_ramp() -> None:
    hand = hot_and_solid(416.0)
    hand.inject("meter_stuck")
    hand.wait(400.0)
    assert hand.state in HEATED
    assert "meter-disagrees" in hand.alarms()
    assert "no-power" not in hand.alarms()


def test_exchanged_wires_are_told_as_what_they_are_when_the_lid_was_open_just_before() -> None:
    hand = knowing("workshop", model=None)
    hand.inject("sensor_reversed")
    charged(hand, boosted_melt(mass_kg=1.0, rate_c_per_h=1200.0))
    hand.run_until(lambda: hand.state not in HEATED, 400.0)
    assert hand.first_cause == "sensor-reversed"


def test_who_holds_a_cold_furnace_in_the_middle_of_full_power_is_told_nothing_of_what_it_had_taken_up() -> None:
    hand = furnace_at_hand(start_c=20.0)
    hand.start(bake(to_c=720.0, rate_c_per_h=4000.0))
    hand.run_until(lambda: hand.reading_c > 130.0, 600.0)
    hand.hold()
    held_c = hand.reading_c
    hottest_c = held_c
    for _ in range(60):
        hand.wait(30.0)
        hottest_c = max(hottest_c, hand.reading_c)
    assert hottest_c > held_c + OverSetpoint().over_k + 10.0
    assert hand.state is State.HELD
    assert "over-setpoint" not in hand.alarms()
