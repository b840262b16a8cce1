"""The mass that was entered, against what the furnace warms up like."""

import pytest

from supervisor.firing import commands as c
from supervisor.firing.firing import Run
from supervisor.firing.follow import KNOWN_AGAIN_S
from supervisor.firing.presses import Asked
from supervisor.firing.states import State
from tests.supervisor.firing.knowing import boosted_melt, charged, knowing, of_doubtful_mass
from tests.supervisor.furnace_at_hand import FurnaceAtHand


def warming(*, entered_kg: float = 2.0, really_kg: float, start_c: float = 20.0, seed: int = 1) -> FurnaceAtHand:
    hand = knowing(start_c=start_c, seed=seed)
    charged(hand, boosted_melt(mass_kg=entered_kg), really_kg=really_kg)
    return hand


def run_of(hand: FurnaceAtHand) -> Run:
    run = hand.memory.firing.run
    assert run is not None
    return run


@pytest.mark.parametrize(("entered_kg", "really_kg"), [(1.0, 2.0), (3.0, 1.5), (1.5, 3.0)])
def test_half_and_double_are_asked_before_anything_melts(entered_kg: float, really_kg: float) -> None:
    asked_before_it_melts(of_doubtful_mass(entered_kg=entered_kg, really_kg=really_kg), entered_kg, really_kg)


def test_half_of_two_kilograms_is_asked_before_anything_melts(doubted: FurnaceAtHand) -> None:
    asked_before_it_melts(doubted, 2.0, 1.0)


def asked_before_it_melts(hand: FurnaceAtHand, entered_kg: float, really_kg: float) -> None:
    run = run_of(hand)
    assert hand.furnace.state.share_molten == 0.0
    assert not run.boost.on
    assert hand.alarms() == ["mass-doubted"]
    doubt = run.mass_doubt
    assert doubt is not None
    assert doubt.weighed_kg == entered_kg
    assert doubt.like_kg is not None
    assert (doubt.like_kg > entered_kg) == (really_kg > entered_kg)


@pytest.mark.parametrize("share", [0.9, 1.0, 1.1])
@pytest.mark.parametrize("start_c", [20.0, 550.0])
def test_a_tenth_is_not_asked_about(share: float, start_c: float) -> None:
    hand = warming(really_kg=2.0 * share, start_c=start_c)
    hand.run_until(lambda: hand.furnace.state.share_molten > 0.5, 4800.0)
    assert run_of(hand).mass_doubt is None
    assert run_of(hand).boost.began


def test_while_it_is_doubted_no_minutes_are_said() -> None:
    hand = warming(really_kg=1.0)
    run = run_of(hand)
    hand.run_until(lambda: hand.memory.adviser.minutes is not None, 600.0)
    hand.run_until(lambda: run.mass_doubt is not None, 2400.0)
    for _ in range(10):
        hand.wait(30.0)
        assert hand.memory.adviser.minutes is None


def test_a_press_says_that_it_is_as_entered_and_the_boost_stays_off(doubted: FurnaceAtHand) -> None:
    hand = doubted
    run = run_of(hand)
    hand.stand_in = None
    hand.run_until(lambda: hand.asked is Asked.MASS, 60.0)
    hand.press()
    assert run.mass_confirmed
    hand.answer_everything()
    hand.wait(1800.0)
    assert not run.boost.began
    assert hand.alarms("returned") == ["mass-doubted"]


def test_after_that_press_the_reading_is_held_against_the_model_again_once_all_has_long_been_liquid(
    doubted: FurnaceAtHand,
) -> None:
    hand = doubted
    hand.stand_in = None
    hand.run_until(lambda: hand.asked is Asked.MASS, 60.0)
    assert hand.memory.innovations is not None
    hand.press()
    hand.answer_everything()
    hand.wait(2.0)
    assert hand.memory.innovations is None
    follow = hand.memory.adviser.follow
    hand.run_until(lambda: hand.memory.innovations is not None, 9000.0)
    assert KNOWN_AGAIN_S <= follow.liquid_s <= KNOWN_AGAIN_S + 1
    hand.wait(60.0)
    assert hand.alarms("returned") == ["mass-doubted"]
    hand.furnace.inject("relay_stuck_off")
    hand.run_until(lambda: hand.state in (State.STOPPING, State.STOPPED), 120.0)


def test_the_mass_weighed_again_is_reckoned_with_from_then_on(doubted: FurnaceAtHand) -> None:
    hand = doubted
    run = run_of(hand)
    allowed_wh = run.allowance_wh
    assert hand.note(c.NoteKind.MASS, mass_kg=1.0).accepted
    assert run_of(hand).mass_doubt is None
    assert run.allowance_wh < allowed_wh
    hand.run_until(lambda: hand.memory.adviser.estimate is not None, 60.0)
    hand.wait(120.0)
    assert run_of(hand).mass_doubt is None  # it fits now
    estimate = hand.memory.adviser.estimate
    assert estimate is not None
    assert estimate.low_c - 10.0 <= hand.furnace.state.metal_mean_c <= estimate.high_c + 10.0
    assert hand.memory.adviser.minutes is not None
    assert not run.boost.on


@pytest.mark.parametrize("mass_kg", [0.0, -1.0, 3.5, None])
def test_a_mass_that_cannot_be_is_refused_with_what_is_allowed(mass_kg: float | None) -> None:
    hand = warming(really_kg=2.0)
    answer = hand.note(c.NoteKind.MASS, mass_kg=mass_kg)
    assert not answer.accepted
    assert "allowed: above 0, up to 3 kg" in answer.sentence


def test_the_minutes_to_pour_know_the_profiles_own_ramp() -> None:
    hand = knowing()
    charged(hand, boosted_melt(rate_c_per_h=400.0))
    hand.run_until(lambda: hand.memory.adviser.minutes is not None, 600.0)
    minutes, left = hand.memory.adviser.minutes, (740.0 - hand.reading_c) / 400.0 * 60.0
    assert minutes is not None
    assert left - 15.0 <= minutes.likely <= left + 30.0  # full power would be there in half that time
