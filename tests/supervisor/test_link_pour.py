"""On the way to the pour: hands are asked for by a contactor read open alone, and by nothing with any doubt."""

from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from typing import Any

import pytest

from hardware.ports import Level
from supervisor.alarms.standing import Standing
from supervisor.cycle import Memory
from supervisor.firing import commands as c
from supervisor.firing.firing import MassDoubt
from supervisor.firing.states import State
from supervisor.link.snapshot import snapshot
from tests.supervisor.firing.knowing import as_described
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, furnace_at_hand, melt, running


@pytest.fixture(scope="module")
def hot() -> FurnaceAtHand:
    """Heated until the metal is likely at its pouring temperature, with somebody there who presses."""
    hand = furnace_at_hand()
    hand.memory.firing.adviser.adopted = as_described(BENCH)
    hand.memory.firing.drained = True
    hand.start(melt(rate_c_per_h=6000.0))
    hand.answer_everything()
    hand.run_until(lambda: hand.memory.firing.window.fit, 3 * 3600.0)
    hand.run_until(lambda: pour(hand.memory)["stage"] == "heat off first", 600.0)
    hand.stand_in = None
    return hand


@pytest.fixture(scope="module")
def off(hot: FurnaceAtHand) -> FurnaceAtHand:
    """The same, stopped: the contactor reads open."""
    while_hot = said(hot.memory)
    assert while_hot.startswith("Likely ready. Before anybody looks: heat off and proved.")
    assert pour(hot.memory)["to_in_s"] is None
    assert pour(hot.memory)["contactor_open"] is False
    hot.stop()
    hot.run_until(lambda: pour(hot.memory)["stage"] == "look", 20.0)
    hot.wait(30.0)
    return hot


@pytest.fixture
def memory(off: FurnaceAtHand) -> Memory:
    return deepcopy(off.memory)


def pour(memory: Memory) -> dict[str, Any]:
    return dict(snapshot(memory)["pour"])


def said(memory: Memory) -> str:
    shown = snapshot(memory)["headline"]
    return " ".join((shown["before"], shown["key"], shown["after"])).strip()


def test_with_the_contactor_read_open_eyes_and_probe_decide(memory: Memory) -> None:
    assert said(memory) == "Heat off, proved. Likely ready: look and dip, then decide."
    found = pour(memory)
    assert found["contactor_open"]
    assert found["open_for_s"] >= 30.0
    assert found["left"]["give_min"] >= 1


def contactor_not_open(memory: Memory) -> None:
    sample = memory.sample
    assert sample is not None
    memory.sample = sample._replace(inputs=sample.inputs._replace(mirror=Level.OPEN))


def mirror_not_fitted(memory: Memory) -> None:
    sample = memory.sample
    assert sample is not None
    memory.sample = sample._replace(inputs=sample.inputs._replace(mirror=Level.NOT_FITTED))


def mass_doubted(memory: Memory) -> None:
    assert memory.firing.run is not None
    memory.firing.run.mass_doubt = MassDoubt(2.0, 1.3, "It heats otherwise.")


def hung_up(memory: Memory) -> None:
    adviser = memory.firing.adviser
    assert adviser.estimate is not None
    adviser.estimate = replace(adviser.estimate, doubt="Solid may hang over liquid.")


def sensor_silent(memory: Memory) -> None:
    memory.belief = memory.belief._replace(good_s=memory.belief.monotonic_s - 1.0)


def sensor_noisy(memory: Memory) -> None:
    memory.alarms.standing["sensor-noisy"] = Standing(stands=True, number=1)


@pytest.mark.parametrize(
    "doubt", [contactor_not_open, mirror_not_fitted, mass_doubted, hung_up, sensor_noisy, sensor_silent]
)
def test_with_a_doubt_no_hands_are_asked_for(memory: Memory, doubt: Callable[[Memory], None]) -> None:
    doubt(memory)
    found = pour(memory)
    assert found["stage"] in ("withdrawn", "heat off first")
    assert "look and dip" not in said(memory)
    assert found["to_in_s"] is None
    if found["stage"] == "withdrawn":
        assert found["why"]
        assert said(memory).startswith("Not ready after all:")


def test_metal_liquid_for_half_an_hour_asks_whether_to_look_or_let_cool(memory: Memory) -> None:
    memory.firing.window.liquid_since_s = memory.belief.monotonic_s - 34 * 60.0
    assert said(memory) == "Heat off, proved. Likely liquid 34 min: it takes up gas. Look, or let cool?"


def test_the_window_counts_down_and_metal_that_has_cooled_is_withdrawn_with_an_epoch(off: FurnaceAtHand) -> None:
    before, left_s = off.epoch, pour(off.memory)["to_in_s"]
    off.wait(60.0)
    assert pour(off.memory)["to_in_s"] < left_s
    off.run_until(lambda: pour(off.memory)["stage"] == "withdrawn", 1800.0)
    assert pour(off.memory)["why"] == "It is likely below 720 °C, where it pours."
    off.wait(30.0)
    assert said(off.memory) == "Stopped: off, proved; may be liquid. Decide by {hour} Freezing may crack the pot."
    assert off.epoch > before
    estimate = off.memory.firing.adviser.estimate
    assert estimate is not None
    off.note(c.NoteKind.DIP, temperature_c=estimate.metal_c - 60.0)
    assert said(off.memory) == "Not ready after all: the dip is 60 K low. Lid shut."


def test_a_full_mould_ends_heat_for_this_firing_and_says_nothing_of_the_pot() -> None:
    hand = running(melt())
    assert hand.memory.firing.run is not None
    hand.memory.firing.run.gate.may_be_liquid = True
    answer = hand.note(c.NoteKind.MOULD, text="1")
    assert answer.accepted
    assert "Heat does not come back in this firing." in answer.sentence
    hand.run_until(lambda: hand.state is State.COMPLETE, 20.0)
    hand.note(c.NoteKind.MOULD, text="2")
    answer = hand.note(c.NoteKind.MOULD, text="2")
    assert (answer.accepted, answer.sentence) == (False, "Mould 2 is entered already.")
    found = pour(hand.memory)
    assert (found["stage"], found["moulds"]) == ("pouring", ["1", "2"])
    assert hand.shown()["may_be_liquid"]
    hand.note(c.NoteKind.POUR)
    hand.wait(1.0)
    assert pour(hand.memory)["stage"] == "none"
    assert not hand.shown()["may_be_liquid"]
