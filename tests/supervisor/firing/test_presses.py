"""The button at the furnace: one question, one press, and everything that is no answer."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hardware.ports import CYCLE_S, Level
from supervisor.firing import commands as c
from supervisor.firing.presses import HELD_PRESS, Asked, Button
from supervisor.firing.states import State
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, furnace_at_hand, melt, running

LENGTHS_S = (0.3, 0.5, 1.0, 2.0, 2.75, 3.5, 5.0, 9.75, 11.0, 15.0)


@given(
    levels=st.lists(st.tuples(st.booleans(), st.integers(1, 60)), min_size=1, max_size=12),
    puts=st.lists(st.tuples(st.integers(0, 300), st.sampled_from(Asked)), max_size=4),
)
def test_whatever_is_pressed_an_answer_began_after_its_question_and_within_a_minute(
    levels: list[tuple[bool, int]], puts: list[tuple[int, Asked]]
) -> None:
    button, now_s, cycle = Button(), 0.0, 0
    began_s: float | None = None
    put_s: dict[Asked, float] = {}
    used_s: set[float] = set()
    for pressed, cycles in levels:
        for _ in range(cycles):
            now_s, cycle = now_s + CYCLE_S, cycle + 1
            if pressed and began_s is None:
                began_s = now_s
            answered = button.see(Level.CLOSED if pressed else Level.OPEN, now_s)
            if answered is not None:
                assert began_s is not None
                assert put_s[answered] < began_s <= put_s[answered] + 60.0
                assert began_s not in used_s  # one press, one answer
                used_s.add(began_s)
                held_s = now_s - began_s
                assert held_s >= 3.0 if answered in HELD_PRESS else held_s <= 10.0
            if not pressed:
                began_s = None
            for at, asked in puts:
                if at == cycle and button.put(asked, now_s):
                    assert not pressed
                    put_s[asked] = now_s


def at_the_gate() -> FurnaceAtHand:
    hand = running(start_c=500.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 600.0)
    return hand


@pytest.mark.parametrize("seconds", LENGTHS_S)
def test_a_press_of_up_to_ten_seconds_answers_the_gate(seconds: float) -> None:
    hand = at_the_gate()
    hand.furnace.press(seconds)
    hand.wait(seconds + 0.5)
    run = hand.memory.firing.run
    assert run is not None
    assert run.gate.shut is (seconds > 10.0)
    if seconds > 10.0:
        assert "button-stuck" in hand.alarms()
        assert hand.state is State.HELD
        assert not hand.level("relay")


@pytest.mark.parametrize("seconds", [2.0, 2.75, 3.5])
def test_only_a_press_of_three_seconds_goes_on_after_a_long_hold(seconds: float) -> None:
    hand = running(bake(to_c=480.0), start_c=450.0)
    hand.hold()
    hand.wait(601.0)
    assert hand.resume().accepted
    hand.turn()
    assert hand.asked is Asked.RESUME
    hand.furnace.press(seconds)
    hand.wait(min(seconds, 6.0) + 0.5)
    assert (hand.state is State.RUNNING) is (seconds >= 3.5)


@pytest.mark.parametrize("seconds", LENGTHS_S)
def test_a_press_that_nobody_asked_for_does_nothing(seconds: float) -> None:
    for hand in (furnace_at_hand(), running(bake(to_c=500.0), start_c=450.0), held()):
        hand.wait(1.0)
        before, enable = hand.state, hand.level("enable")
        hand.furnace.press(seconds)
        hand.wait(min(seconds, 9.5) + 0.25)
        assert not [e for e in hand.events("press") if e.detail["answers"] != "start"]
        assert hand.state is before
        assert hand.level("enable") is enable


def held() -> FurnaceAtHand:
    hand = running(bake(to_c=500.0), start_c=450.0)
    hand.hold()
    return hand


def test_a_press_is_spent_by_the_question_it_answered() -> None:
    hand = furnace_at_hand(start_c=500.0)
    hand.furnace.add_charge(2.0, 20.0, "6082")
    hand.wait(1.0)
    hand.prepare(melt())
    hand.send(hand.start_command())
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.furnace.press(60.0)  # held on, through the start and into the gate's own question
    hand.wait(40.0)
    run = hand.memory.firing.run
    assert run is None or run.gate.shut


def test_a_press_for_one_question_does_not_answer_the_one_that_took_its_place() -> None:
    hand = at_the_gate()
    hand.furnace.press(4.0)
    hand.wait(1.0)
    hand.inject("lid_open")  # the gate's question goes on; going on will be asked once the lid is shut again
    hand.wait(1.0)
    hand.furnace.lid(False)
    hand.wait(2.5)
    answers = [event.detail["answers"] for event in hand.events("press")]
    assert "resume" not in answers


def test_a_button_that_is_taped_while_running_takes_the_heat_away_and_is_said() -> None:
    hand = running(bake(to_c=600.0), start_c=450.0)
    hand.inject("button_stuck")
    hand.wait(11.0)
    assert hand.state is State.HELD
    assert hand.alarms() == ["button-stuck"]
    on_s = hand.relay_on_s
    hand.wait(120.0)
    assert hand.relay_on_s == on_s
    hand.furnace.mend("button_stuck")
    hand.wait(1.0)
    assert hand.asked is Asked.RESUME  # free again, and a press is what it takes


def test_a_reset_asked_for_with_a_taped_button_lapses_after_a_minute() -> None:
    hand = running(bake(to_c=500.0), start_c=450.0)
    hand.inject("emergency_stop")
    hand.wait(3.0)
    hand.furnace.mend("emergency_stop")
    hand.inject("button_stuck")
    hand.wait(1.0)
    assert hand.send(c.Reset(hand.by(), "my elbow")).accepted
    hand.wait(62.0)
    hand.furnace.mend("button_stuck")
    hand.wait(1.0)
    assert hand.asked is None
    hand.hold_button()
    assert hand.state is State.ABORTED


def test_a_reset_takes_what_was_found_and_a_held_press() -> None:
    hand = running(bake(to_c=500.0), start_c=450.0)
    hand.inject("sensor_open")
    hand.run_until(lambda: hand.state is State.ABORTED, 5.0)
    hand.hold_button()
    assert hand.state is State.ABORTED  # nobody asked
    assert not hand.send(c.Reset(hand.by(), "  ")).accepted
    assert hand.send(c.Reset(hand.by(), "a loose screw at the probe")).accepted
    hand.wait(0.5)
    hand.press(1.0)
    assert hand.state is State.ABORTED  # too short
    hand.hold_button()
    assert hand.shown()["state"] == "stopped"
    assert not hand.shown()["alarms"]  # whoever resets has seen them all
    assert [row.detail["found"] for row in hand.events("reset")] == ["a loose screw at the probe"]


def asked_to_reset() -> FurnaceAtHand:
    hand = running(bake(to_c=500.0), start_c=450.0)
    hand.inject("sensor_open")
    hand.run_until(lambda: hand.state is State.ABORTED, 5.0)
    assert hand.send(c.Reset(hand.by(), "a loose screw at the probe")).accepted
    hand.run_until(lambda: hand.asked is Asked.RESET, 2.0)
    return hand


def stalled(hand: FurnaceAtHand, seconds: float) -> None:
    """The furnace goes on, the supervisor sees nothing of it."""
    for _ in range(round(seconds / CYCLE_S)):
        hand.furnace.step()


def test_two_taps_before_and_after_a_stall_are_no_held_press() -> None:
    hand = asked_to_reset()
    hand.furnace.press(1.0)
    hand.wait(0.5)
    stalled(hand, 4.0)
    hand.press(1.0)
    assert hand.state is State.ABORTED
    hand.hold_button()
    assert hand.shown()["state"] == "stopped"


def test_a_sample_said_again_and_again_is_no_held_press() -> None:
    hand = asked_to_reset()
    hand.furnace.press(1.0)
    hand.turn()
    again = hand.hardware.sample()
    assert again.inputs.reset_button is Level.CLOSED
    for _ in range(20):
        hand.turn(sample=again)
    assert hand.state is State.ABORTED


def test_a_press_goes_on_being_seen_over_one_cycle_that_was_left_out() -> None:
    hand = asked_to_reset()
    hand.furnace.press(3.75)
    hand.wait(1.5)
    stalled(hand, CYCLE_S)
    hand.wait(2.0)
    assert hand.shown()["state"] == "stopped"


@pytest.mark.parametrize("stall_s", [1.0, 8.0])
def test_a_press_held_through_a_stall_counts_from_its_end(stall_s: float) -> None:
    hand = asked_to_reset()
    hand.furnace.press(stall_s + 9.0)
    hand.wait(1.0)
    stalled(hand, stall_s)
    hand.wait(2.5)
    assert hand.state is State.ABORTED
    hand.wait(1.0)
    assert hand.shown()["state"] == "stopped"


def test_an_acknowledgement_resets_nothing() -> None:
    hand = running(bake(to_c=500.0), start_c=450.0)
    hand.inject("sensor_open")
    hand.run_until(lambda: hand.state is State.ABORTED, 5.0)
    hand.furnace.mend("sensor_open")
    assert hand.send(c.Acknowledge(hand.by(), None)).accepted
    hand.wait(5.0)
    assert hand.state is State.ABORTED
    assert hand.memory.alarms.latched
    assert not hand.send(c.Prepare(hand.by(), bake(), None)).accepted
