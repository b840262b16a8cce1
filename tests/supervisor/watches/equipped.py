"""Furnaces with what may be fitted beside the one thermocouple, and without the meter: for the watches that use it."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from supervisor.firing.presses import Asked
from supervisor.firing.profile import Profile
from supervisor.firing.states import State
from supervisor.furnace.description import FurnaceDescription
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake, furnace_at_hand

WITHOUT_METER = replace(BENCH, pulses_per_kwh=None, wiring=BENCH.wiring._replace(energy_pulse=None))


def fitted(*, meter: bool = True, **lines: Any) -> FurnaceDescription:
    """The bench furnace with more or fewer lines: load_current=12, mains=15, tray_probe=4, sensors=(0, 1)."""
    base = BENCH if meter else WITHOUT_METER
    return replace(base, wiring=base.wiring._replace(**lines))


WITH_CURRENT = fitted(load_current=12)
CURRENT_ALONE = fitted(meter=False, load_current=12)
WITH_SECOND = fitted(sensors=(0, 1))
WITH_TRAY = fitted(tray_probe=4)
WITH_MAINS = fitted(mains=15)


def started(
    described: FurnaceDescription, profile: Profile | None = None, *, really_kg: float = 0.0, **made: Any
) -> FurnaceAtHand:
    """Running, whatever proof of the relay the start needed, with so much metal in the pot."""
    hand = furnace_at_hand(described=described, **{"start_c": 450.0, **made})
    if really_kg:
        hand.furnace.add_charge(really_kg, 20.0, "6082")
    hand.wait(1.0)
    hand.prepare(profile or bake(to_c=600.0))
    hand.send(hand.start_command())
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.hold_button()
    hand.run_until(lambda: hand.state is State.RUNNING, 200.0)
    return hand


def broken(
    described: FurnaceDescription, fault: str, value: float | None = None, *, after_s: float = 0.0, to_c: float = 600.0
) -> Callable[[], FurnaceAtHand]:
    """One of these furnaces at work, with a fault."""

    def case() -> FurnaceAtHand:
        hand = started(described, bake(to_c=to_c))
        hand.wait(after_s)
        hand.inject(fault, value)
        return hand

    return case
