"""What is slow at a hold of liquid metal: a reading that runs low for minutes. Simulated."""

import pytest

from supervisor.firing.follow import Follow
from supervisor.watches.history import History
from supervisor.watches.hold import NeedsMorePower
from supervisor.watches.view import Innovations, View
from tests.supervisor.firing.knowing import boosted_melt, charged, knowing
from tests.supervisor.furnace_at_hand import FurnaceAtHand


def holds(before: float, now: float) -> History:
    """Twelve minutes at a hold; in the last six with another duty."""
    history = History()
    for second in range(700):
        history.append(720.0, 720.0, before if second < 350 else now, 0)
    return history


def seen_with(
    hand: FurnaceAtHand, mean_300_k: float, mean_600_k: float = 0.0, sunk_k: float = 0.0, *, now_k: float = 0.0
) -> View:
    memory = hand.memory
    assert memory.sample is not None
    return View(
        hand.now_s,
        memory.sample.inputs,
        memory.belief,
        holds(0.4, 0.4),
        memory.firing,
        memory.furnace,
        memory.log,
        memory.sample.energy_pulses,
        0.0,
        memory.sample.board,
        None,
        Innovations(now_k, now_k, now_k, mean_300_k, True, 0.0, mean_600_k, sunk_k),
    )


def test_a_reading_that_runs_low_is_told_by_less_once_the_metal_has_long_been_liquid() -> None:
    hand = knowing()
    charged(hand, boosted_melt(mass_kg=0.6))
    hand.answer_everything()
    follow: Follow = hand.memory.adviser.follow
    hand.run_until(lambda: follow.liquid_s > 10, 6000.0)
    watch = NeedsMorePower()
    assert watch.judge(seen_with(hand, -1.6, -0.7, -0.7)) is None  # what was melting still stands in the window
    assert watch.judge(seen_with(hand, -1.9, now_k=-2.2)) is None  # a tenth more metal than was entered
    assert watch.judge(seen_with(hand, -2.4, now_k=-2.4)) is not None
    follow.liquid_s = 700
    assert watch.judge(seen_with(hand, -1.2, now_k=-0.3)) is None  # it came back: that was the metal
    assert watch.judge(seen_with(hand, -1.2, now_k=-0.9)) is not None
    assert watch.judge(seen_with(hand, -0.6, -0.7, -0.7)) is None
    follow.liquid_s = 1000
    assert watch.judge(seen_with(hand, -0.7)) is not None
    assert watch.judge(seen_with(hand, -0.6, -0.4, -0.3)) is None
    assert watch.judge(seen_with(hand, -0.6, -0.6, 0.0)) is not None
    assert watch.judge(seen_with(hand, -0.5, -0.4, -0.5)) is not None  # it was higher ten minutes ago
    stepped = History()
    for second in range(700):
        stepped.append(720.0, 720.0, 0.9 if 500 < second < 560 else 0.4, 0)
    assert watch.judge(seen_with(hand, -0.7)._replace(history=stepped)) is None
    hand.memory.firing.lid.last_shut_s = hand.now_s - 300.0
    assert watch.judge(seen_with(hand, -0.7)) is None  # the lid was open not long ago
    assert watch.judge(seen_with(hand, -0.9)) is None  # nor is it low any more
    assert watch.judge(seen_with(hand, -0.9, now_k=-0.9)) is not None


def test_from_a_reading_that_runs_low_on_it_gets_no_more_heat_than_ten_minutes_ago() -> None:
    hand = knowing()
    charged(hand, boosted_melt(mass_kg=0.6))
    hand.answer_everything()
    hand.run_until(lambda: hand.memory.adviser.follow.liquid_s > 10, 6000.0)
    assert hand.memory.firing.run is not None
    hand.memory.firing.run.beyond_duty = 1.0
    found = NeedsMorePower().judge(seen_with(hand, -2.4, now_k=-2.4)._replace(history=holds(0.40, 0.48)))
    assert found is not None
    assert found.reaction.duty_ceiling == pytest.approx(0.40, abs=0.02)
