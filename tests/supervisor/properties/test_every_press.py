"""A press of every length, in every state, asked for or not, by one client or by two: it answers the one question that
was put before it began, once, and lets the contactor in only where that question was about heat and it was held 3 s."""

from collections.abc import Sequence
from itertools import product

import pytest

from hardware.ports import CYCLE_S, Level, Sample
from supervisor.firing.presses import ANSWER_WITHIN_S, HELD_FOR_S, HELD_PRESS, STUCK_AFTER_S, Asked, Question
from supervisor.firing.states import State
from supervisor.logbook.records import EventRow
from tests.supervisor.furnace_at_hand import bake, furnace_at_hand
from tests.supervisor.properties.every_state import every_command, go_on, moments

LENGTHS_S = (0.25, 1.0, 2.75, 3.75, 9.75, 10.25)
LETS_IN = frozenset({Asked.START, Asked.RESUME})
ASKS = ("start", "resume", "raise", "reset")
ALSO = ("stop", "hold", "note pour", "prepare")
RELEASED_S = 2.0  # before the press, so that a question can be put


def walk(state: State, length_s: float, asked: Sequence[str]) -> list[Asked]:
    """Ask in the first cycle, wait, press for so long, release; what the press answered."""
    moment = moments()[state].copy()
    memory = moment.memory
    known = every_command(memory)
    commands = [command for name in asked if (command := known.get(name)) is not None]
    began_s = moment.memory.belief.monotonic_s + RELEASED_S
    answered: list[Asked] = []
    at_press: Question | None = None
    enabled, before = memory.outputs.enable, memory.firing.state

    def button(sample: Sample) -> Sample:
        pressed = began_s < sample.monotonic_s <= began_s + length_s
        return sample._replace(inputs=sample.inputs._replace(reset_button=Level.CLOSED if pressed else Level.OPEN))

    for step in go_on(moment, round((RELEASED_S + length_s + 2.0) / CYCLE_S), commands, button):
        now_s = memory.belief.monotonic_s
        if now_s <= began_s:
            at_press = memory.firing.button.question
        for row in step.records:
            if isinstance(row, EventRow) and row.kind == "press":
                answered.append(Asked(row.detail["answers"]))
        if step.outputs.enable and not enabled:
            assert answered, "the contactor is let in by nobody"
            assert answered[-1] in LETS_IN
            assert now_s - began_s >= HELD_FOR_S
        if memory.firing.state is State.RUNNING and before is not State.RUNNING:
            assert state in (State.HELD, State.HOLDING) or answered[-1:] == [Asked.START]
        enabled, before = step.outputs.enable, memory.firing.state
    assert len(answered) <= 1  # one press, one answer
    for each in answered:
        assert at_press is not None
        assert each is at_press.asked
        assert at_press.put_s < began_s + CYCLE_S <= at_press.put_s + ANSWER_WITHIN_S + CYCLE_S
        assert length_s >= HELD_FOR_S if each in HELD_PRESS else length_s <= STUCK_AFTER_S + CYCLE_S
    return answered


@pytest.mark.parametrize("state", State)
def test_a_press_of_any_length_that_nobody_asked_for_answers_only_what_stands(state: State) -> None:
    for length_s in LENGTHS_S:
        answered = walk(state, length_s, ())
        assert not set(answered) & {Asked.START, Asked.RESET, Asked.RAISE, Asked.ADOPT}


@pytest.mark.parametrize("state", State)
def test_a_press_of_any_length_after_anything_was_asked_answers_that_and_nothing_else(state: State) -> None:
    for length_s, name in product(LENGTHS_S, ASKS):
        if name == "start" and state is not State.IDLE:
            continue  # refused, and walked as any other command elsewhere
        answered = walk(state, length_s, (name,))
        assert not set(answered) & HELD_PRESS or length_s >= HELD_FOR_S


def test_the_walk_does_meet_an_answer() -> None:
    assert [walk(State.ABORTED, length_s, ("reset",)) for length_s in (2.75, 3.75)] == [[], [Asked.RESET]]


@pytest.mark.parametrize("length_s", [0.5, 3.5])
@pytest.mark.parametrize("state", [State.IDLE, State.HELD, State.ABORTED])
def test_two_clients_and_one_press(state: State, length_s: float) -> None:
    for one, other in product(ASKS, ALSO):
        for pair in ((one, other), (other, one)):
            answered = walk(state, length_s, pair)
            if length_s < HELD_FOR_S:
                assert not set(answered) & HELD_PRESS  # a sign that one gives starts nothing that another asked for


@pytest.mark.parametrize("length_s", LENGTHS_S)
def test_a_start_takes_a_press_of_three_seconds_whoever_asked_for_it(length_s: float) -> None:
    """Ben asks for a start; Ada, who knows nothing of it, presses as for a sign, or holds."""
    hand = furnace_at_hand(start_c=100.0)
    hand.wait(1.0)
    hand.prepare(bake(to_c=300.0))
    assert hand.send(hand.start_command()).accepted
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.furnace.press(length_s)
    went_in = False
    for _ in range(round((length_s + 8.0) / CYCLE_S)):
        hand.turn()
        went_in = went_in or hand.level("contactor")
    assert went_in is (length_s >= HELD_FOR_S)
    assert [event.detail["answers"] for event in hand.events("press")] == ["start"] * went_in
