"""Every state with everything that can be asked, found and seen there: nothing is alive where nothing may be."""

from dataclasses import dataclass
from enum import Enum
from itertools import product
from typing import Any

import pytest

from hardware.ports import Permit
from supervisor import cycle as core
from supervisor.firing.states import HEATED, TRANSITIONS, Event, State, next_state
from supervisor.watches import WATCHES
from supervisor.watches.finding import Finding, Reaction, Then
from supervisor.watches.view import View
from tests.supervisor.properties.every_state import (
    ADDS_HEAT,
    AT_REST,
    CHANGES,
    Moment,
    every_command,
    go_on,
    moments,
)

REACTIONS = sorted({watch.reaction for watch in WATCHES}, key=repr)
SECOND = 4


@dataclass(frozen=True, slots=True)
class Speaks:
    """A watch that finds what it is told to find."""

    reaction: Reaction
    id: str = "hard-cap"
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = frozenset(State)
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        return Finding(self.id, self.reaction, "told to speak")


@pytest.fixture
def speaking(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Let one watch speak in every state, whatever it sees."""
    moments()  # made while the real watches look on

    def speak(reaction: Reaction) -> None:
        table = {state: (Speaks(reaction),) for state in State}
        monkeypatch.setattr(core, "ASKED", table)
        monkeypatch.setattr(core, "ASKED_BETWEEN", table)

    return speak


def at(state: State) -> Moment:
    return moments()[state].copy()


def commands_of(state: State) -> list[str]:
    return list(every_command(moments()[state].memory))


@pytest.mark.parametrize("state", State)
def test_whatever_is_asked_whatever_is_seen_nothing_is_alive_at_rest(state: State) -> None:
    for name, change in product(commands_of(state), CHANGES.values()):
        moment = at(state)
        for _ in go_on(moment, SECOND, [every_command(moment.memory)[name]], change):
            pass


ALIKE = {f"note {kind}" for kind in ("skim", "dip reading", "all molten", "mass", "remark")} | {"told", "unshelve"}
"""They change what a hold or a start does no otherwise than their likes."""


@pytest.mark.parametrize("state", State)
def test_any_two_commands_one_after_the_other_leave_nothing_alive_at_rest(state: State) -> None:
    names = [name for name in commands_of(state) if name not in ALIKE]
    for one, other in product(names, repeat=2):
        moment = at(state)
        asked = every_command(moment.memory)
        for _ in go_on(moment, 2, [asked[one], asked[other]]):
            pass


@pytest.mark.parametrize("state", State)
@pytest.mark.parametrize("reaction", REACTIONS, ids=[f"reaction{n}" for n in range(len(REACTIONS))])
def test_in_a_cycle_with_a_finding_of_hold_or_more_nothing_that_adds_heat_is_taken(
    state: State, reaction: Reaction, speaking: Any
) -> None:
    speaking(reaction)
    for name in commands_of(state):
        moment = at(state)
        steps = list(go_on(moment, SECOND, [every_command(moment.memory)[name]]))
        if reaction.then >= Then.HOLD and name in ADDS_HEAT:
            assert not steps[0].answers[0].accepted, name
        if reaction.then is Then.ABORT:
            assert moment.memory.firing.state in (State.ABORTING, State.ABORTED)
        for step in steps:
            if reaction.then is Then.ABORT or reaction.drop_contactor:
                assert not step.outputs.enable, name
            if reaction.then is Then.ABORT:
                assert step.outputs.permit is Permit.STILL, name
            if reaction.duty_ceiling == 0.0:
                assert not step.outputs.relay, name


@pytest.mark.parametrize("state", State)
def test_what_names_an_epoch_that_is_over_is_refused_in_every_state(state: State) -> None:
    for name in ("start late", "resume late", "raise late"):
        moment = at(state)
        command = every_command(moment.memory).get(name)
        if command is not None:
            (step, *_) = go_on(moment, 1, [command])
            assert not step.answers[0].accepted, name


@pytest.mark.parametrize("state", State)
def test_a_stop_overtakes_whatever_was_asked_before_it_in_the_same_cycle(state: State) -> None:
    for name in commands_of(state):
        alone, both = at(state), at(state)
        (step, *_) = go_on(alone, 1, [every_command(alone.memory)[name]])
        asked = every_command(both.memory)
        (overtaken, *_) = go_on(both, 1, [asked[name], asked["stop"]])
        assert overtaken.answers[1].accepted
        assert both.memory.firing.state not in HEATED, name
        assert not overtaken.outputs.relay, name
        if name in ADDS_HEAT:
            assert not overtaken.answers[0].accepted, (name, step.answers[0])


SEEN = ("acknowledge", "silence", "shelve", "unshelve", "attend", "told", "note remark", "lower", "hold")


@pytest.mark.parametrize("state", State)
@pytest.mark.parametrize("reaction", [*REACTIONS, None], ids=[*(f"reaction{n}" for n in range(len(REACTIONS))), "none"])
def test_to_have_seen_it_or_to_lower_gives_no_more_heat_than_to_do_nothing(
    state: State, reaction: Reaction | None, speaking: Any
) -> None:
    """Beside the same seconds without it: no relay, enable or permit comes, and the duty is not higher."""
    if reaction is not None:
        speaking(reaction)
    without = at(state)
    plain = [(step.outputs, step.memory.firing.duty) for step in go_on(without, 2 * SECOND)]
    for name in SEEN:
        moment = at(state)
        command = every_command(moment.memory)[name]
        for step, (outputs, duty) in zip(go_on(moment, 2 * SECOND, [command]), plain, strict=True):
            assert step.outputs.enable <= outputs.enable, name
            assert step.outputs.relay <= outputs.relay, name
            assert (step.outputs.permit is not Permit.STILL) <= (outputs.permit is not Permit.STILL), name
            assert step.memory.firing.duty <= duty + 1e-9, name


def test_a_trip_is_neither_shelved_nor_reset_by_anything_but_the_button() -> None:
    moment = at(State.ABORTED)
    assert moment.memory.alarms.latched
    for name, command in every_command(moment.memory).items():
        list(go_on(moment, SECOND, [command]))
        assert moment.memory.alarms.latched, name
        assert moment.memory.firing.state is State.ABORTED, name
        assert not moment.memory.alarms.shelves, name


# --- what no table knows --------------------------------------------------------------------------------------------


class Odd(Enum):
    SIMMERING = "simmering"


@pytest.mark.parametrize("state", State)
def test_an_event_that_a_state_does_not_know_ends_in_aborting(state: State) -> None:
    for event in [*Event, Odd.SIMMERING]:
        if event not in TRANSITIONS[state]:
            assert next_state(state, event) is State.ABORTING


def test_a_state_that_no_table_knows_ends_in_aborting_with_everything_off() -> None:
    moment = at(State.RUNNING)
    moment.memory.firing.state = Odd.SIMMERING  # type: ignore[assignment]
    steps = list(go_on(moment, SECOND))
    assert moment.memory.firing.state in (State.ABORTING, State.ABORTED)
    for step in steps:
        assert not step.outputs.relay
        assert not step.outputs.enable
        assert step.outputs.permit is Permit.STILL


def test_the_walk_goes_through_every_state_and_tries_what_can_be_asked() -> None:
    """A walk that reaches nothing proves nothing."""
    assert set(moments()) == set(State)
    assert {state for state, moment in moments().items() if moment.memory.outputs.enable} >= HEATED - {State.HOLDING}
    taken = set()
    for state in State:
        for name in commands_of(state):
            moment = at(state)
            (step, *_) = go_on(moment, 1, [every_command(moment.memory)[name]])
            if step.answers[0].accepted:
                taken.add(name)
    assert taken >= {"prepare", "start", "hold", "stop", "resume", "lower", "note pour", "reset", "acknowledge"}
    assert not AT_REST & HEATED
