"""The table of watches has no order: shuffled, a faulted firing is the same row for row."""

import random
from collections.abc import Sequence

import pytest

from hardware.ports import Level, Reading
from supervisor import cycle as core
from supervisor.firing.states import State
from supervisor.watches import WATCHES, Watch
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, melt, running


def life(seed: int) -> tuple[FurnaceAtHand, list[object]]:
    """A melt in which much goes wrong, some of it in the same cycle; every output of it."""
    hand = running(melt(), start_c=530.0, seed=seed)
    outputs: list[object] = []

    def on(seconds: float) -> None:
        for _ in range(round(seconds * 4)):
            hand.turn()
            outputs.append((hand.outputs, hand.state, hand.memory.alarms.reaction, hand.memory.firing.duty))

    on(20.0)
    hand.furnace.lid(True)
    on(8.0)
    hand.furnace.lid(False)
    on(10.0)
    hand.hold_button()
    on(20.0)
    hand.inject("sensor_noisy", 6.0)
    on(30.0)
    hand.inject("sensor_frozen")
    hand.inject("relay_stuck_on")
    on(70.0)
    hand.inject("contactor_welded")
    hand.furnace.emergency_stop(True)
    on(10.0)
    hand.furnace.mains(False)
    on(10.0)
    return hand, outputs


def at_once(seed: int) -> tuple[FurnaceAtHand, list[object]]:
    """Too hot for the second time, limiter and tray in one and the same cycle: three trips, each the first."""
    hand = running(bake(to_c=600.0), start_c=450.0, seed=seed)
    outputs: list[object] = []
    for number in range(60):
        sample = hand.hardware.sample()
        inputs = sample.inputs
        if number >= 2:
            inputs = inputs._replace(limiter=Level.OPEN, key=Level.OPEN, chain=Level.OPEN)
        hot = sample._replace(sensors=(Reading(0x1230_1500 + 16 * number, 1200.0, 21.0),), inputs=inputs)
        hand.turn(sample=hot if number else sample)
        outputs.append((hand.outputs, hand.state, hand.memory.alarms.reaction))
    return hand, outputs


def table(monkeypatch: pytest.MonkeyPatch, watches: Sequence[Watch]) -> None:
    asked = {state: tuple(watch for watch in watches if state in watch.states) for state in State}
    monkeypatch.setattr(core, "ASKED", asked)
    monkeypatch.setattr(
        core, "ASKED_BETWEEN", {s: tuple(w for w in each if not w.each_second) for s, each in asked.items()}
    )


@pytest.mark.parametrize("lived", [life, at_once])
def test_a_shuffled_table_changes_neither_findings_nor_reactions_nor_outputs(
    lived: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain, expected = lived(1)  # type: ignore[operator]
    assert len(set(plain.alarms())) >= 2, "it has something to say"
    for seed in (1, 2, 3):
        shuffled = list(WATCHES)
        random.Random(seed).shuffle(shuffled)
        table(monkeypatch, shuffled)
        hand, outputs = lived(1)  # type: ignore[operator]
        assert outputs == expected
        assert sorted(map(repr, hand.records)) == sorted(map(repr, plain.records))
        assert hand.rows() == plain.rows()
        assert hand.first_cause == plain.first_cause


def test_a_table_that_lacks_a_watch_does_change_something(monkeypatch: pytest.MonkeyPatch) -> None:
    plain, _ = at_once(1)
    table(monkeypatch, [watch for watch in WATCHES if watch.id != "hard-cap"])
    hand, _ = at_once(1)
    assert set(hand.alarms()) != set(plain.alarms())
