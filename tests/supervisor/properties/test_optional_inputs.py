"""What is fitted beside the thermocouple only adds evidence: stuck or bouncing it delays no watch that goes by heat."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest

from hardware.ports import Level, Sample
from supervisor.firing.presses import Asked
from supervisor.firing.states import HEATED, State
from supervisor.furnace.description import FurnaceDescription
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake, furnace_at_hand

BARE = replace(
    BENCH, pulses_per_kwh=None, wiring=BENCH.wiring._replace(energy_pulse=None, load_current=None, sensors=(0,))
)

Stuck = Callable[[Sample, int], Sample]


def _level(name: str, of: Callable[[int], Level]) -> Stuck:
    return lambda sample, cycle: sample._replace(inputs=sample.inputs._replace(**{name: of(cycle)}))


def _levels(name: str) -> dict[str, Stuck]:
    return {
        f"{name} stuck open": _level(name, lambda cycle: Level.OPEN),
        f"{name} stuck closed": _level(name, lambda cycle: Level.CLOSED),
        f"{name} bouncing": _level(name, lambda cycle: Level.CLOSED if cycle % 2 else Level.OPEN),
    }


STUCK: dict[str, tuple[FurnaceDescription, Stuck]] = {
    **{name: (BARE, stuck) for line in ("load_current", "mains") for name, stuck in _levels(line).items()},
    "tray_probe stuck open": (BARE, _levels("tray_probe")["tray_probe stuck open"]),
    "lid stuck closed": (BARE, _levels("lid")["lid stuck closed"]),
    "meter stuck": (BENCH, lambda sample, cycle: sample._replace(energy_pulses=0)),
    "meter bouncing": (BENCH, lambda sample, cycle: sample._replace(energy_pulses=3 * cycle)),
}

FAULTS = {"sensor_open": 3.0, "sensor_frozen": 63.0, "bus_silent": 3.0, "sensor_slip": 120.0, "relay_stuck_on": 150.0}
"""Each with the seconds in which heat must have ended when nothing optional is fitted."""


def started(described: FurnaceDescription) -> FurnaceAtHand:
    """Running, however long the proof of the relay takes with what is fitted."""
    hand = furnace_at_hand(start_c=590.0, described=described)
    hand.wait(1.0)
    hand.prepare(bake(to_c=600.0))
    assert hand.send(hand.start_command()).accepted
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.hold_button()
    hand.run_until(lambda: hand.state is State.RUNNING, 120.0)
    hand.wait(30.0)
    return hand


@cache
def ends_after_s(described: FurnaceDescription, fault: str, stuck: Stuck | None) -> float | None:
    """From the fault to the end of every heat; None: not within five minutes. A wrong input may have ended it."""
    hand = started(described)
    cycle = 0

    def turn() -> None:
        nonlocal cycle
        cycle += 1
        sample = hand.hardware.sample()
        hand.turn(sample=sample if stuck is None else stuck(sample, cycle))

    for _ in range(40):
        turn()
    if hand.state not in HEATED:
        return 0.0
    hand.inject(fault)
    for number in range(1200):
        turn()
        if hand.state not in HEATED or _without_heat(hand):
            return (number + 1) * 0.25
    return None


def _without_heat(hand: FurnaceAtHand) -> bool:
    """Held with the contactor out."""
    return hand.outputs is not None and not hand.outputs.enable


@pytest.mark.parametrize("fault", FAULTS)
def test_each_temperature_watch_ends_heat_when_nothing_optional_is_fitted(fault: str) -> None:
    took_s = ends_after_s(BARE, fault, None)
    assert took_s is not None
    assert took_s <= FAULTS[fault]


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("name", STUCK)
def test_an_optional_input_that_is_wrong_delays_no_watch_over_temperatures(name: str, fault: str) -> None:
    described, stuck = STUCK[name]
    plain_s, wrong_s = ends_after_s(BARE, fault, None), ends_after_s(described, fault, stuck)
    assert plain_s is not None
    assert wrong_s is not None
    assert wrong_s <= plain_s
