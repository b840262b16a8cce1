"""After an outage: what happened, how long it was, and metal that is called solid only when it is, by the plant."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from hardware.lines import OUTPUT_LINES
from hardware.simulated.plant import Bench
from supervisor.firing import commands as c
from supervisor.firing.aftermath import Ended, clock_found
from supervisor.firing.presses import Asked
from supervisor.firing.solid import BELIEVED_AFTER_S, SOLID_BELOW_C
from supervisor.firing.states import State
from supervisor.furnace.file import read_furnace
from supervisor.model.cooling import slowest_cooling
from tests.plants.unseen import UnseenFurnace
from tests.plants.weak import WeakFurnace
from tests.supervisor.furnace_at_hand import BENCH, melt
from tests.supervisor.restarted import Kept

LIQUID_SHARE = 0.05
MINUTES = (0.0, 1.0, 15.0, 25.0, 45.0, 90.0, 150.0, 240.0, 300.0, 360.0)
"""After the end of heat, at which somebody begins a supervisor and asks."""


HOW = (
    "killed",
    "power, clock right",
    "power, clock missing",
    "power, clock stepped back",
    "power, clock stepped on",
    "power, then the clock is set",
)

FURNACES: dict[str, tuple[Any, str]] = {
    "bench": (Bench, "bench"),
    "weak": (WeakFurnace, WeakFurnace.furnace_file),
    "unseen": (UnseenFurnace, UnseenFurnace.furnace_file),
}


def molten(data: Path, kg: float = 2.0, furnace: str = "bench") -> Kept:
    """A firing that has liquid metal in it, some minutes after its gate."""
    plant, file = FURNACES[furnace]
    kept = Kept(data, plant=plant, described=read_furnace(file), start_c=690.0)
    kept.memory.firing.cold_checked = True
    kept.furnace.add_charge(kg, 700.0, "6082")
    kept.start(melt(mass_kg=kg), charged=False)
    kept.run_until(lambda: kept.asked is Asked.GATE, 60.0)
    kept.press()
    kept.wait(30.0)
    assert kept.shown()["may_be_liquid"]
    assert kept.furnace.plant.state.share_molten > 0.9
    return kept


@pytest.fixture
def hot(tmp_path: Path) -> Iterator[Kept]:
    kept = molten(tmp_path / "data")
    yield kept
    kept.close()


def switch_off(kept: Kept) -> None:
    """Everything is off, and nobody watches."""
    kept.kill()
    for line in OUTPUT_LINES:
        kept.furnace.set_output(line, False)
    kept.furnace.step()


@pytest.mark.parametrize(
    ("furnace", "kg", "lid_open", "how"),
    [
        *(("bench", 2.0, False, how) for how in HOW),
        *(("weak", 1.2, True, how) for how in HOW),  # its reading falls first under an open lid
        ("bench", 2.0, True, "power, clock stepped on"),
        ("unseen", 2.0, True, "power, clock stepped on"),
        ("unseen", 2.0, False, "power, clock right"),
    ],
)
def test_metal_is_never_called_solid_while_it_is_liquid(
    tmp_path: Path, how: str, furnace: str, kg: float, *, lid_open: bool
) -> None:
    hot = molten(tmp_path / "data", kg, furnace)
    switch_off(hot)
    home, at_min, said = hot.data, 0.0, []
    for minutes in MINUTES:
        hot.pass_quickly((minutes - at_min) * 60.0, lid_open=lid_open)
        at_min = minutes
        kept_off_s, copy = hot.monotonic_off_s, tmp_path / f"copy {minutes}"
        shutil.copytree(home, copy)
        if how != "killed":
            hot.reboot()
            hot.trusted = how not in ("power, clock missing", "power, then the clock is set")
            hot.backend = "pi"  # a real machine's clock has to be trusted first
            hot.clock_off_s = {"power, clock stepped back": -10800.0, "power, clock stepped on": 36000.0}.get(how, 0.0)
            if how == "power, clock missing":
                hot.clock_off_s = -at_min * 60.0
        hot.begin(copy)
        hot.memory.backend = "simulated"
        hot.furnace.lid(lid_open)
        hot.wait(3.0)
        shown = hot.shown()
        share = hot.furnace.plant.state.share_molten
        said.append(shown["may_be_liquid"])
        assert shown["may_be_liquid"] or share <= LIQUID_SHARE, f"{how}, after {minutes} min: {share:.2f} is liquid"
        metal = shown["aftermath"]["metal"]
        assert ("may be liquid" in metal["state"]) == shown["may_be_liquid"]
        assert ("solid." in metal["sentence"]) != shown["may_be_liquid"]
        at_min += 3.25 / 60.0
        hot.kill()
        hot.clock_off_s, hot.trusted, hot.boot = 0.0, True, "boot-1"
        hot.monotonic_off_s = kept_off_s
    assert said[0]
    if how == "killed":
        assert not said[-1], "and after so long it is said that it is solid"


@pytest.mark.parametrize("seconds", [0.25, 5.0, 600.0])
def test_how_it_ended_and_how_long_it_was_are_told_apart(hot: Kept, seconds: float) -> None:
    hot.cut_power(seconds)
    hot.begin()
    hot.wait(1.0)
    found = hot.shown()["aftermath"]
    assert found["ended"] == Ended.POWER.value
    assert found["happened"].startswith("The computer lost its supply")
    assert not found["lasted"]["at_least"]
    assert found["lasted"]["s"] == pytest.approx(seconds, abs=12.0)  # the last batch of samples
    assert found["before_c"] == pytest.approx(hot.reading_c, abs=60.0)
    hot.kill()
    hot.pass_without(2.0)
    hot.begin()
    hot.wait(1.0)
    assert hot.shown()["aftermath"]["ended"] == Ended.POWER.value, "until the reset it stays what it was"


def test_a_killed_program_and_one_that_failed_are_not_taken_for_a_power_cut(hot: Kept) -> None:
    hot.restart()
    hot.wait(1.0)
    found = hot.shown()["aftermath"]
    assert found["ended"] == Ended.KILLED.value
    assert "the computer ran on" in found["happened"]


def test_mains_that_go_while_the_computer_runs_on_end_the_firing_for_good(hot: Kept) -> None:
    hot.furnace.mains(False)
    hot.wait(2.0)
    assert hot.state is State.ABORTING
    found = hot.shown()["aftermath"]
    assert found["ended"] == Ended.SUPPLY.value
    assert "it has not come back" in found["lasted"]["words"]
    hot.wait(120.0)
    hot.furnace.mains(True)
    hot.wait(5.0)
    assert hot.state.value == "aborted"
    found = hot.shown()["aftermath"]
    assert found["lasted"]["s"] == pytest.approx(122.0, abs=3.0)
    assert "may be liquid" in found["metal"]["sentence"]
    assert any("Do not add charge" in each for each in found["do_not"])
    hot.wait(60.0)
    assert not hot.level("relay")
    assert not hot.level("enable")
    hot.restart()
    hot.wait(1.0)
    assert hot.shown()["aftermath"]["ended"] == Ended.SUPPLY.value
    assert hot.shown()["aftermath"]["lasted"]["s"] == pytest.approx(122.0, abs=3.0), "and not until the program began"
    assert hot.shown()["may_be_liquid"]


def test_without_a_trusted_clock_an_outage_is_at_least_so_long_until_the_clock_is_set(hot: Kept) -> None:
    hot.cut_power(900.0)
    hot.trusted, hot.backend = False, "pi"
    hot.begin()
    hot.memory.backend = "simulated"
    hot.wait(20.0)
    lasted = hot.shown()["aftermath"]["lasted"]
    assert lasted["at_least"]
    assert lasted["words"].startswith("at least 20 s")
    clock_found(hot.memory.firing, hot.now_s, hot.utc_ms())
    lasted = hot.shown()["aftermath"]["lasted"]
    assert not lasted["at_least"]
    assert lasted["s"] == pytest.approx(900.0, abs=15.0)


def test_a_clock_that_was_set_back_gives_no_negative_and_no_false_length(hot: Kept) -> None:
    hot.cut_power(900.0)
    hot.clock_off_s = -7200.0
    hot.begin()
    hot.wait(1.0)
    assert hot.shown()["aftermath"]["lasted"]["at_least"]


def test_a_cold_furnace_whose_firing_was_killed_is_not_said_to_be_liquid(tmp_path: Path) -> None:
    kept = Kept(tmp_path / "data")
    kept.start(melt(rate_c_per_h=300.0))
    kept.wait(60.0)
    kept.restart()
    kept.wait(1.0)
    assert not kept.shown()["may_be_liquid"]
    assert kept.shown()["aftermath"]["metal"]["state"] == "solid"
    kept.close()


def test_a_probe_that_slipped_out_makes_nothing_solid(hot: Kept) -> None:
    hot.inject("sensor_slip")
    hot.run_until(lambda: hot.state is State.ABORTED, 120.0)
    hot.wait(600.0)
    assert hot.reading_c < 400.0
    hot.restart()
    hot.wait(2.0)
    assert hot.memory.firing.cooling.doubted
    hot.pass_quickly(BELIEVED_AFTER_S)
    hot.wait(300.0)
    assert hot.furnace.plant.state.share_molten > LIQUID_SHARE
    assert hot.shown()["may_be_liquid"], f"it reads {hot.reading_c:.0f} °C"


def test_a_chamber_that_has_cooled_far_says_it_without_any_date(hot: Kept) -> None:
    switch_off(hot)
    while hot.furnace.plant.state.hot_junction_c > SOLID_BELOW_C - 5.0:
        hot.pass_quickly(600.0)
    hot.reboot()
    hot.trusted, hot.backend = False, "pi"
    hot.begin()
    hot.memory.backend = "simulated"
    hot.wait(5.0)
    assert hot.shown()["may_be_liquid"], "nobody knows how long it was, and a probe may have slipped out"
    hot.wait(BELIEVED_AFTER_S)
    assert not hot.shown()["may_be_liquid"]
    assert hot.events("metal")[-1].detail["solid"]
    hot.restart()
    hot.wait(2.0)
    assert not hot.shown()["may_be_liquid"], "what was certain once stays so"


def test_metal_that_a_finished_firing_left_is_not_forgotten_by_a_restart(hot: Kept) -> None:
    hot.stop()
    hot.run_until(lambda: hot.state is State.STOPPED, 5.0)
    hot.restart()
    hot.wait(1.0)
    assert hot.shown()["left_open"] is None
    assert hot.shown()["may_be_liquid"]
    assert hot.shown()["aftermath"] is None


def test_a_second_firing_that_is_cut_as_it_begins_does_not_hide_what_the_first_one_left(hot: Kept) -> None:
    hot.stop()
    hot.run_until(lambda: hot.state is State.STOPPED, 5.0)
    hot.prepare(melt(mass_kg=2.0))
    assert hot.send(hot.start_command()).accepted
    hot.wait(1.0)
    assert hot.state is State.STARTING
    hot.restart()
    hot.wait(1.0)
    assert hot.furnace.plant.state.share_molten > LIQUID_SHARE
    assert hot.shown()["may_be_liquid"]
    assert hot.shown()["aftermath"]["metal"]["state"] == "may be liquid"


def test_a_poured_pot_is_not_said_to_hold_liquid_after_a_restart(hot: Kept) -> None:
    hot.note(c.NoteKind.POUR)
    hot.run_until(lambda: hot.state is State.COMPLETE, 5.0)
    hot.restart()
    hot.wait(1.0)
    assert not hot.shown()["may_be_liquid"]
    assert hot.memory.firing.drained


def test_slowest_cooling_grows_with_the_heat_and_ends() -> None:
    found = slowest_cooling(BENCH, None)
    assert list(found.solid_after_s) == sorted(found.solid_after_s)
    assert found.after_s(300.0) == found.solid_after_s[0]
    assert found.after_s(780.0) == found.solid_after_s[3]
    assert found.after_s(2000.0) == found.after_s(float("nan")) == float("inf")
