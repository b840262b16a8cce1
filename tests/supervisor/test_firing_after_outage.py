"""The firing after an outage: heated slowly until it is known that nothing is shut in under what froze in the pot."""

from dataclasses import replace
from pathlib import Path

import pytest

from supervisor.firing.presses import Asked
from supervisor.firing.profile import Hold, Ramp
from supervisor.firing.setpoint import GENTLE_BELOW_C, GENTLE_C_PER_S
from supervisor.firing.states import State
from tests.supervisor.furnace_at_hand import bake, furnace_at_hand, melt
from tests.supervisor.restarted import Kept, looked_at


@pytest.mark.parametrize("looked", [False, True])
def test_a_pot_that_nobody_knows_to_be_drained_is_heated_slowly(tmp_path: Path, *, looked: bool) -> None:
    kept = Kept(tmp_path / "data", start_c=200.0)
    kept.memory.firing.cold_checked = True
    kept.start(melt(rate_c_per_h=1500.0))
    kept.wait(20.0)
    kept.restart()
    kept.wait(1.0)
    looked_at(kept)
    assert kept.shown()["may_be_liquid"] is False
    kept.memory.firing.cold_checked = True
    kept.prepare(melt(rate_c_per_h=1500.0))
    assert kept.send(kept.start_command(drained=looked)).accepted
    kept.run_until(lambda: kept.asked is Asked.START, 20.0)
    kept.hold_button()
    kept.run_until(lambda: kept.state is State.RUNNING, 20.0)
    run = kept.memory.firing.run
    assert run is not None
    assert run.walk.gentle is not looked
    at_s, at_c = kept.now_s, run.walk.setpoint_c
    fastest = 0.0
    for _ in range(120):
        kept.wait(1.0)
        fastest = max(fastest, (run.walk.setpoint_c - at_c) / (kept.now_s - at_s))
    assert (fastest <= GENTLE_C_PER_S * 1.001) is not looked
    assert kept.shown()["boost"]["on"] is False


def cut_and_reset(data: Path) -> Kept:
    """The metal of a melt that was cut short is in the pot, and somebody has reset it."""
    kept = Kept(data)
    kept.start(melt())
    kept.restart()
    kept.wait(1.0)
    looked_at(kept)
    return kept


def gentle(kept: Kept) -> bool:
    """Whether the next heat is slow, now and by a supervisor that begins on the log."""
    kept.prepare(melt())
    now = kept.memory.firing.gentle
    kept.restart()
    kept.wait(1.0)
    kept.prepare(melt())
    assert kept.memory.firing.gentle is now
    kept.close()
    return now


QUICK = Ramp(21.0, 9000.0, None), Hold(1.0, None, False)


@pytest.mark.parametrize("between", ["nobody pressed", "stopped on its way", "without metal"])
def test_what_has_not_emptied_the_pot_ends_no_caution(tmp_path: Path, between: str) -> None:
    kept = cut_and_reset(tmp_path / "data")
    kept.prepare(replace(bake(), segments=QUICK) if between == "without metal" else melt())
    assert kept.send(kept.start_command()).accepted
    if between != "nobody pressed":
        kept.run_until(lambda: kept.asked is Asked.START, 20.0)
        kept.hold_button()
    if between == "stopped on its way":
        kept.stop()
    kept.run_until(lambda: kept.state in (State.STOPPED, State.COMPLETE), 120.0)
    assert gentle(kept)


@pytest.mark.parametrize("looked", [False, True])
def test_what_has_emptied_or_melted_the_pot_ends_it(tmp_path: Path, *, looked: bool) -> None:
    """looked: somebody saw that nothing but the new charge is in it, and stopped; else it was melted to the end."""
    kept = cut_and_reset(tmp_path / "data")
    kept.prepare(replace(melt(), segments=QUICK))
    assert kept.send(kept.start_command(drained=looked)).accepted
    kept.run_until(lambda: kept.asked is Asked.START, 20.0)
    kept.hold_button()
    if looked:
        kept.stop()
    kept.run_until(lambda: kept.state in (State.STOPPED, State.COMPLETE), 120.0)
    assert not gentle(kept)


def test_a_trip_over_metal_in_a_pot_that_was_drained_before_does_not_call_it_poured() -> None:
    hand = furnace_at_hand(start_c=300.0)
    hand.memory.firing.drained = True  # by the pour of the melt before
    hand.start(melt())
    hand.inject("sensor_open")
    hand.wait(3.0)
    told = hand.shown()["aftermath"]
    assert told["metal"] == {"state": "solid", "sentence": "What is in the pot is solid.", "solid_in_s": 0.0}
    assert told["do_not"] == ["Do not add charge on a frozen pot: metal shut in under it can spit when it melts."]
    assert told["then"] == "A new firing on it climbs at 300 °C/h at most up to 500 °C, and without boost."


def test_a_firing_without_metal_after_a_bake_that_was_cut_is_heated_as_planned_once_looked_into(tmp_path: Path) -> None:
    assert GENTLE_BELOW_C == 500.0
    kept = Kept(tmp_path / "data")
    kept.start(bake())
    kept.restart()
    kept.wait(1.0)
    looked_at(kept)
    kept.memory.firing.cold_checked = True
    kept.start(bake(rate_c_per_h=900.0), charged=False)
    run = kept.memory.firing.run
    assert run is not None
    assert run.walk.gentle is not kept.memory.firing.drained
    kept.close()
