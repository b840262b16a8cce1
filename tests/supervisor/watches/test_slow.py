"""What is slow at a hold of liquid metal: a reading that runs low for minutes. Simulated."""

from dataclasses import replace

import pytest

from supervisor.firing.follow import Follow
from supervisor.watches.history import History
from supervisor.watches.hold import NeedsMorePower
from supervisor.watches.model import ColderThanPower
from supervisor.watches.off import breaks_off
from supervisor.watches.view import Innovations, View
from tests.supervisor.firing.knowing import all_liquid
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


@pytest.fixture(scope="module")
def melted() -> FurnaceAtHand:
    """All metal has just been called liquid."""
    return all_liquid(10)


@pytest.fixture
def hand(melted: FurnaceAtHand) -> FurnaceAtHand:
    melted.memory.adviser.follow.liquid_s, melted.memory.firing.lid.last_shut_s = 11, None
    return melted


def test_a_reading_that_runs_low_is_told_by_less_once_the_metal_has_long_been_liquid(hand: FurnaceAtHand) -> None:
    follow: Follow = hand.memory.adviser.follow
    watch = NeedsMorePower()
    assert watch.judge(seen_with(hand, -1.6, -0.7, -0.7)) is None  # what was melting still stands in the window
    assert watch.judge(seen_with(hand, -1.9, now_k=-2.2)) is None  # a tenth more metal than was entered
    assert watch.judge(seen_with(hand, -2.4, now_k=-2.4)) is not None
    follow.liquid_s = 700
    assert watch.judge(seen_with(hand, -1.2, now_k=-0.3)) is None  # it came back: that was the metal
    assert watch.judge(seen_with(hand, -1.2, now_k=-0.9)) is not None
    assert watch.judge(seen_with(hand, -0.6, -0.7, -0.7)) is None
    follow.liquid_s = 1300
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


def test_two_minutes_are_enough_for_what_is_far_off(hand: FurnaceAtHand) -> None:
    watch = NeedsMorePower()
    seen = seen_with(hand, 0.0, now_k=-1.4)
    innovations = seen.innovations
    assert innovations is not None
    after_a_lid = seen._replace(innovations=innovations._replace(mean_300_k=None))
    assert watch.judge(after_a_lid) is None  # metal has just become liquid
    hand.memory.adviser.follow.liquid_s = 700
    assert watch.judge(seen_with(hand, 0.0, now_k=-1.1)) is None
    found = watch.judge(after_a_lid)
    assert found is not None
    assert "-1.40 K each second for 2 min" in found.evidence


@pytest.mark.parametrize(
    ("mean_k", "mean_300_k", "liquid_s", "speaks"),
    [
        (-0.7, -0.7, 1000, True),  # what a drift of 5 K a minute leaves
        (-0.5, -0.5, 1000, False),  # a piece that fell in and melts
        (-0.1, -0.7, 1000, False),  # it came back
        (-0.9, -0.9, 800, False),  # metal may still melt
    ],
)
def test_with_nothing_learned_a_filter_that_takes_much_in_still_runs_low(
    hand: FurnaceAtHand, mean_k: float, mean_300_k: float, liquid_s: int, *, speaks: bool
) -> None:
    hand.memory.adviser.follow.liquid_s = liquid_s
    seen = seen_with(hand, mean_300_k, now_k=mean_k)
    innovations = seen.innovations
    assert innovations is not None
    found = NeedsMorePower().judge(seen._replace(innovations=innovations._replace(learned=False)))
    assert (found is not None) is speaks


def test_what_somebody_has_looked_at_and_pressed_on_is_not_told_again_for_a_quarter_hour(
    hand: FurnaceAtHand, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = hand.memory.firing.run
    assert run is not None
    hand.memory.adviser.follow.liquid_s = 1000
    seen = seen_with(hand, -0.7, now_k=-0.7)
    assert seen.innovations is not None
    unlearned = seen._replace(innovations=seen.innovations._replace(learned=False))
    for looked_ago_s, speaks in ((60.0, False), (890.0, False), (910.0, True)):
        monkeypatch.setattr(run, "looked_s", hand.now_s - looked_ago_s)
        assert (NeedsMorePower().judge(unlearned) is not None) is speaks
        assert (
            NeedsMorePower().judge(seen_with(hand, -2.4, now_k=-2.4)) is not None
        )  # what is learned needs no patience


@pytest.mark.parametrize(
    ("sank_k", "liquid_s", "speaks"), [(-14.0, 1100, True), (-10.6, 1100, False), (-31.0, 1000, False)]
)
def test_so_is_what_has_sunk_against_the_power_alone(
    hand: FurnaceAtHand, monkeypatch: pytest.MonkeyPatch, sank_k: float, liquid_s: int, *, speaks: bool
) -> None:
    adviser = hand.memory.adviser
    assert adviser.estimate is not None
    monkeypatch.setattr(adviser, "estimate", replace(adviser.estimate, phase="liquid", sank_k=sank_k))
    adviser.follow.liquid_s = liquid_s
    found = NeedsMorePower().judge(seen_with(hand, 0.0))
    assert (found is not None) is speaks
    if found is not None:
        assert found.evidence == "the reading has sunk by 14 K in 8 min against what the power gives, allowed 13.5"


def test_from_a_reading_that_runs_low_on_it_gets_no_more_heat_than_ten_minutes_ago(hand: FurnaceAtHand) -> None:
    assert hand.memory.firing.run is not None
    hand.memory.firing.run.beyond_duty = 1.0
    found = NeedsMorePower().judge(seen_with(hand, -2.4, now_k=-2.4)._replace(history=holds(0.40, 0.48)))
    assert found is not None
    assert found.reaction.duty_ceiling == pytest.approx(0.40, abs=0.02)


@pytest.mark.parametrize(
    ("liquid_s", "duty_before", "speaks"),
    [
        (11, 1.0, False),  # a boost ends, and more metal still melts than is believed: a healthy melt came to 1.7 K
        (11, 0.3, True),
        (900, 1.0, True),  # it has long been liquid
    ],
)
def test_as_a_boost_ends_over_melting_metal_a_sudden_fall_alone_does_not_tell(
    hand: FurnaceAtHand, liquid_s: int, duty_before: float, *, speaks: bool
) -> None:
    hand.memory.adviser.follow.liquid_s = liquid_s
    history = History()
    for second in range(220):
        history.append(720.0 - max(0, second - 190), 700.0, duty_before if second < 180 else 0.0, 0)
    view = seen_with(hand, 0.0)._replace(
        history=history, innovations=Innovations(-1.7, 0.6, -0.1, 0.2, True, -1.4, 0.3, 0.3, -1.3, -1.3)
    )
    assert (breaks_off(view) != "") is speaks


def governed() -> History:
    """The governor lets go of the chamber and takes it up again: power moves, the reading stands."""
    history = History()
    for second in range(700):
        history.append(720.0, 720.0, 0.05 if 580 < second <= 650 else 0.4, 0)
    return history


@pytest.mark.parametrize(("now_k", "speaks"), [(-1.4, False), (-1.8, True)])
def test_where_power_has_moved_two_minutes_must_be_further_off(
    hand: FurnaceAtHand, now_k: float, *, speaks: bool
) -> None:
    hand.memory.adviser.follow.liquid_s = 700
    found = NeedsMorePower().judge(seen_with(hand, 0.0, now_k=now_k)._replace(history=governed()))
    assert (found is not None) is speaks


def test_what_has_sunk_while_power_moved_says_nothing(hand: FurnaceAtHand, monkeypatch: pytest.MonkeyPatch) -> None:
    adviser = hand.memory.adviser
    assert adviser.estimate is not None
    monkeypatch.setattr(adviser, "estimate", replace(adviser.estimate, phase="liquid", sank_k=-14.0))
    adviser.follow.liquid_s = 1100
    assert NeedsMorePower().judge(seen_with(hand, 0.0)) is not None
    assert NeedsMorePower().judge(seen_with(hand, 0.0)._replace(history=governed())) is None


@pytest.mark.parametrize(
    ("mean_10_k", "moves", "speaks"), [(-1.7, False, True), (-1.7, True, False), (-2.2, True, True)]
)
def test_a_sudden_fall_must_be_deeper_where_heat_has_come_back(
    hand: FurnaceAtHand, mean_10_k: float, *, moves: bool, speaks: bool
) -> None:
    """As a hold is left, or the governor takes the chamber up: a reading that is late came to 1.7 K."""
    hand.memory.adviser.follow.liquid_s = 900
    view = seen_with(hand, 0.0)._replace(
        history=governed() if moves else holds(0.4, 0.4),
        innovations=Innovations(mean_10_k, -0.6, -0.1, 0.2, True, -1.4, 0.3, 0.3, -1.3, -1.3),
    )
    assert (breaks_off(view) != "") is speaks


@pytest.mark.parametrize(
    ("liquid_s", "mean_10_k", "mean_30_k", "speaks"),
    [(200, -3.7, -3.3, False), (200, -5.7, -4.0, True), (900, -3.7, -3.3, True)],
)
def test_metal_that_ends_to_melt_late_is_no_missing_heat(
    hand: FurnaceAtHand, liquid_s: int, mean_10_k: float, mean_30_k: float, *, speaks: bool
) -> None:
    """A tenth more of it than was entered: a model calls it liquid too early."""
    hand.memory.adviser.follow.liquid_s = liquid_s
    view = seen_with(hand, -1.0)._replace(innovations=Innovations(mean_10_k, mean_30_k, -1.5, -1.0, True))
    assert (ColderThanPower().judge(view) is not None) is speaks
