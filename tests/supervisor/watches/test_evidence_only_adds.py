"""An optional input only adds evidence: however broken, it delays no watch of temperature and trips nothing alone."""

from functools import cache

import pytest

from supervisor.firing.states import HEATED, State
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake
from tests.supervisor.watches.equipped import WITHOUT_METER, fitted, started

EVERYTHING = fitted(load_current=12, mains=15, tray_probe=4, sensors=(0, 1))
NOTHING = WITHOUT_METER

BROKEN = (
    "meter_stuck",
    "meter_bounces",
    "current_input_stuck_on",
    "current_input_stuck_off",
    "lid_switch_stuck_closed",
    "lid_switch_bounces",
    "second_sensor_open",
    "second_sensor_slip",
    "tray_wet",
)
BY_TEMPERATURE = {"sensor_open": None, "sensor_frozen": None, "sensor_slip": 1.0, "sensor_drift": 240.0}


def heat_ends_s(described: object, broken: str | None, fault: str) -> float:
    """Seconds from the fault to the contactor's opening; the input broke five seconds before."""
    hand = started(described, bake(to_c=600.0))  # type: ignore[arg-type]
    hand.wait(100.0)
    if broken is not None:
        hand.inject(broken)
    hand.wait(5.0)
    hand.inject(fault, BY_TEMPERATURE[fault])
    return hand.run_until(lambda: not hand.level("contactor"), 90.0)


@cache
def without_any(fault: str) -> float:
    return heat_ends_s(NOTHING, None, fault)


@pytest.mark.parametrize("fault", BY_TEMPERATURE)
@pytest.mark.parametrize("broken", [None, *BROKEN])
def test_no_optional_input_whole_or_broken_delays_what_goes_by_temperature(broken: str | None, fault: str) -> None:
    assert heat_ends_s(EVERYTHING, broken, fault) <= without_any(fault) + 0.25


def at_work(broken: str) -> FurnaceAtHand:
    hand = started(EVERYTHING, bake(to_c=600.0))
    hand.wait(30.0)
    hand.inject(broken)
    return hand


@pytest.mark.parametrize("broken", ["meter_stuck", "meter_bounces", "second_sensor_open", "lid_switch_stuck_closed"])
def test_a_broken_input_does_not_end_a_healthy_firing_by_itself(broken: str) -> None:
    hand = at_work(broken)
    hand.wait(300.0)
    assert hand.state in HEATED


def test_a_meter_that_counts_with_the_contactor_open_is_used_by_nobody_and_a_press_goes_on() -> None:
    hand = at_work("meter_bounces")
    hand.run_until(lambda: "meter-disagrees" in hand.alarms(), 300.0)
    assert not hand.memory.firing.power.trusted(hand.now_s)
    hand.answer_everything()
    hand.run_until(lambda: hand.state is State.RUNNING, 120.0)
    hand.wait(300.0)
    assert hand.state is State.RUNNING
    run = hand.memory.firing.run
    assert run is not None
    assert run.metered_wh > run.ordered_wh
    assert run.energy_wh == run.ordered_wh


@pytest.mark.parametrize("per_minute", [3.0, 10.0, 30.0, 60.0])
def test_a_bouncing_meter_holds_at_most_and_never_trips(per_minute: float) -> None:
    hand = started(BENCH, bake(to_c=500.0))
    hand.wait(30.0)
    hand.inject("meter_bounces", per_minute)
    hand.wait(400.0)
    assert hand.state in HEATED, hand.describe()


def test_a_stuck_relay_opens_the_contactor_by_the_meter_and_trips_when_it_falls_silent_with_it() -> None:
    hand = started(BENCH, bake(to_c=460.0))
    hand.wait(30.0)
    hand.inject("relay_stuck_on")
    hand.run_until(lambda: not hand.level("contactor"), 30.0)
    assert hand.state in HEATED
    assert "power-when-off" in hand.alarms()
    assert hand.run_until(lambda: hand.state is State.ABORTED, 40.0) == pytest.approx(30.0, abs=2.0)
    assert hand.first_cause == "power-without-command"
