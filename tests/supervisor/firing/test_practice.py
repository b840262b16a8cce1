"""Cold practice: a melt gone through at the furnace with heat locked by the state itself, and its times kept."""

from hardware.ports import Permit
from supervisor.firing import commands as c
from supervisor.firing.practice import MOVES
from supervisor.firing.states import State
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, furnace_at_hand, melt


def practise(hand: FurnaceAtHand, act: c.Practising) -> c.Answer:
    return hand.send(c.Practise(hand.by(), act))


def begun() -> FurnaceAtHand:
    hand = furnace_at_hand()
    hand.wait(1.0)
    hand.furnace.emergency_stop(True)
    hand.wait(1.0)
    assert practise(hand, c.Practising.BEGIN).sentence == MOVES[0].words
    return hand


def test_the_whole_melt_is_gone_through_and_the_times_are_kept_and_nothing_heats() -> None:
    hand = begun()
    for number, move in enumerate(MOVES):
        shown = hand.shown()
        assert (shown["practice"]["step"], shown["practice"]["name"]) == (number + 1, move.name)
        assert "no heat" in shown["headline"]["key"]
        hand.furnace.press(3.75)  # whatever else is pressed or moved meanwhile
        hand.furnace.lid(number % 2 == 0)
        hand.wait(20.0)
        assert hand.outputs is not None
        assert (hand.outputs.relay, hand.outputs.enable, hand.outputs.permit) == (False, False, Permit.STILL)
        answer = practise(hand, c.Practising.DONE)
    assert answer.sentence == "That was all of it. No heat was ordered."
    assert hand.shown()["practice"] is None
    over = hand.events("practice")[-1].detail
    assert over["over"] == "all of it"
    assert list(over["took_s"]) == [move.name for move in MOVES]
    assert all(20.0 <= seconds <= 21.0 for seconds in over["took_s"].values())
    assert not [e for e in hand.furnace.edges if e.line in ("relay", "enable", "permit", "contactor") and e.level]


def test_it_begins_only_where_hands_may_go_in() -> None:
    hand = furnace_at_hand()
    hand.wait(1.0)
    assert "emergency stop" in practise(hand, c.Practising.BEGIN).sentence
    warm = furnace_at_hand(start_c=60.0)
    warm.furnace.emergency_stop(True)
    warm.wait(1.0)
    assert "below 40 °C" in practise(warm, c.Practising.BEGIN).sentence
    hand.prepare(melt())
    hand.furnace.emergency_stop(True)
    hand.wait(1.0)
    assert "stopped" in practise(hand, c.Practising.BEGIN).sentence
    assert not practise(hand, c.Practising.DONE).accepted


def test_nothing_is_prepared_beside_it_and_it_ends_when_the_emergency_stop_is_released() -> None:
    hand = begun()
    assert "practice is on" in hand.send(c.Prepare(hand.by(), bake(), None)).sentence
    hand.furnace.emergency_stop(False)
    hand.wait(2.0)
    assert hand.shown()["practice"] is None
    assert "emergency stop" in hand.events("practice")[-1].detail["over"]
    assert hand.state is State.STOPPED
    hand.prepare(bake())


def test_whoever_has_had_enough_ends_it() -> None:
    hand = begun()
    practise(hand, c.Practising.DONE)
    assert practise(hand, c.Practising.END).accepted
    assert list(hand.events("practice")[-1].detail["took_s"]) == [MOVES[0].name]
