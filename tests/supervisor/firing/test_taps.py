"""Signs from a phone in whole firings: which taps count, for how long, and that none opens, ends or raises anything."""

from collections.abc import Callable
from copy import deepcopy
from typing import Any

import pytest

from supervisor.firing import commands as c
from supervisor.firing.presses import Asked
from supervisor.firing.states import State
from tests.supervisor.firing.watched import SHORT, asked, at_the_gate, baking, due_in_s, may_go_away, stage, tap
from tests.supervisor.furnace_at_hand import FurnaceAtHand, melt, running


def solid_with_gate_open() -> FurnaceAtHand:
    hand = may_go_away(running(melt(rate_c_per_h=60.0), start_c=520.0, described=SHORT))
    hand.run_until(lambda: hand.asked is Asked.GATE, 600.0)
    hand.press()
    assert hand.shown()["gate"]["state"] == "open"
    return asked(hand)


def liquid() -> FurnaceAtHand:
    hand = may_go_away(running(melt(), start_c=700.0, described=SHORT))
    hand.run_until(lambda: hand.asked is Asked.GATE, 30.0)
    hand.press()
    hand.run_until(lambda: hand.shown()["may_be_liquid"], 10.0)
    return hand


def held_for_it() -> FurnaceAtHand:
    hand = baking()
    hand.run_until(lambda: hand.state is State.HELD, 900.0)
    return hand


def held_by_you() -> FurnaceAtHand:
    hand = baking()
    hand.hold()
    return asked(hand)


def test_a_firing_without_metal_takes_three_taps_in_a_row_and_then_asks_for_the_button() -> None:
    hand = baking()
    for left in (2, 1, 0):
        asked(hand)
        answer = tap(hand)
        assert answer.accepted, answer
        assert hand.shown()["attendance"]["phone_left"] == left
        assert due_in_s(hand) == pytest.approx(400.0, abs=2.0)
    hand.run_until(lambda: stage(hand) == "asked", 400.0)
    hand.wait(1.0)
    shown = hand.shown()["attendance"]
    assert shown["task"] is None
    assert shown["only_presses"]
    answer = tap(hand)
    assert not answer.accepted
    assert "only a press" in answer.sentence
    assert hand.asked is Asked.SIGN
    hand.press()
    assert hand.shown()["attendance"]["phone_left"] == 3
    assert [row.detail["left"] for row in hand.events("sign")] == [2, 1, 0]


def test_a_wrong_tap_and_an_old_one_are_refused_and_change_nothing() -> None:
    hand = asked(baking())
    due_s, number = hand.shown()["attendance"]["due_s"], hand.shown()["attendance"]["task"]["number"]
    wrong = tap(hand, wrong=True)
    assert not wrong.accepted
    assert "not at that temperature" in wrong.sentence
    hand.wait(1.0)
    assert hand.shown()["attendance"]["task"]["number"] > number  # nobody gets there by trying all three
    old = tap(hand, stale=True)
    assert not old.accepted
    assert "over" in old.sentence
    assert hand.shown()["attendance"]["due_s"] == due_s
    assert not hand.events("sign")


def test_what_a_person_does_from_a_page_counts_as_one_of_the_three() -> None:
    hand = asked(baking())
    assert hand.send(c.Acknowledge(hand.by(), None)).accepted
    assert hand.shown()["attendance"]["phone_left"] == 3  # to have seen an alarm is no sign
    assert hand.send(c.Lower(hand.by("an unpaired phone"), 5.0)).accepted
    assert hand.shown()["attendance"]["phone_left"] == 3  # whoever reaches the page may lower
    assert hand.send(c.Hold(c.By("x", "a shell", "command line"))).accepted
    assert hand.shown()["attendance"]["phone_left"] == 3
    assert hand.note(c.NoteKind.SKIM).accepted
    assert hand.shown()["attendance"]["phone_left"] == 2


@pytest.mark.parametrize("case", [liquid, held_for_it])
def test_a_tap_is_refused_with_liquid_metal_and_once_it_is_held_for_a_missed_sign(
    case: Callable[[], FurnaceAtHand],
) -> None:
    hand = case()
    hand.wait(150.0)
    shown = hand.shown()["attendance"]
    assert stage(hand) not in ("none", "not due")
    assert shown["task"] is None
    due_s = shown["due_s"]
    answer = tap(hand)
    assert not answer.accepted
    assert "only a press" in answer.sentence
    assert hand.shown()["attendance"]["due_s"] == due_s


@pytest.mark.parametrize("lacks", ["told", "learned"])
def test_where_nobody_may_go_away_a_tap_does_not_count_and_the_page_says_why(lacks: str) -> None:
    hand = baking()
    if lacks == "told":
        hand.memory.firing.reach.heard = False
    else:
        hand.memory.firing.adviser.model = None
    hand.run_until(lambda: stage(hand) == "asked", 400.0)
    hand.wait(1.0)
    shown = hand.shown()["attendance"]
    assert shown["task"] is None
    assert shown["why_no_phone"].startswith("Stay: ")
    assert not tap(hand).accepted


def test_a_tap_opens_no_gate_but_lets_the_firing_wait_there() -> None:
    hand = asked(at_the_gate())
    assert tap(hand).accepted
    assert hand.shown()["gate"]["state"] == "asked"
    assert hand.asked is Asked.GATE
    assert due_in_s(hand) > 190.0


def test_a_tap_does_not_keep_the_gate_open() -> None:
    hand = solid_with_gate_open()
    open_until_s = hand.shown()["gate"]["open_until_s"]
    assert tap(hand).accepted
    assert hand.shown()["gate"]["open_until_s"] == open_until_s


@pytest.mark.parametrize(
    "case",
    [baking, at_the_gate, solid_with_gate_open, liquid, held_by_you, held_for_it],
    ids=lambda case: case.__name__,
)
@pytest.mark.parametrize("kind", ["right", "wrong", "old"])
def test_no_tap_opens_ends_or_raises_anything(case: Callable[[], FurnaceAtHand], kind: str) -> None:
    tapped = case()
    left_alone = deepcopy(tapped.memory)
    before = heat(tapped)
    tap(tapped, wrong=kind == "wrong", stale=kind == "old")
    after = heat(tapped)
    assert after["gate"] == before["gate"] or after["gate"]["state"] == "shut"
    assert after["state"] == before["state"]
    assert after["held"] == before["held"]
    assert after["lowered_k"] == before["lowered_k"]
    assert after["ceiling"] <= before["ceiling"]
    assert (after["setpoint_c"] or 0.0) <= (before["setpoint_c"] or 0.0) + 0.1  # its ramp may go on by a quarter second
    assert not [e for e in tapped.events("gate") if e.detail.get("open")]
    assert left_alone.firing.held.keys() == tapped.memory.firing.held.keys()


def heat(hand: FurnaceAtHand) -> dict[str, Any]:
    shown, run = hand.shown(), hand.memory.firing.run
    assert run is not None
    return {
        "state": shown["state"],
        "held": shown["held"],
        "gate": shown["gate"] | {"in_s": None},
        "setpoint_c": shown["setpoint_c"],
        "lowered_k": run.lowered_k,
        "ceiling": hand.memory.alarms.reaction.duty_ceiling,
    }
