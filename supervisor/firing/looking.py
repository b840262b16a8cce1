"""Decide, where another regulator heats: a record of its firing begins and ends, and nothing is ordered.

A firing begins by a person's start, or by itself when the furnace is seen to be hot; it ends by a person's stop, by the
note of a pour, or by itself when it is cold again. No question is put, no sign is asked for, nothing is held.
"""

from collections.abc import Callable, Sequence
from math import inf
from typing import TYPE_CHECKING

from supervisor.firing import allowance
from supervisor.firing import commands as c
from supervisor.firing.carry_out import Outcome, carry_out
from supervisor.firing.firing import WARM_C
from supervisor.firing.notes import POURING
from supervisor.firing.orders import order
from supervisor.firing.profile import Hold, Profile, Ramp
from supervisor.firing.states import LIVE, Event, State
from supervisor.furnace.description import ONLY_LOOKING

if TYPE_CHECKING:
    from supervisor.firing.turn import Turn

HOT_C = 100.0
"""Somebody heats: warm weather and a hand at the probe do not get there (our choice)."""
STEADY_S = 60.0
"""So long it must be hot, or cold again, before a firing begins or ends by the reading."""
LONGEST_S = 43_200.0
SWITCH_OFF = "Switch off at that regulator, or at the breaker."
_READING = c.By("reading", "the reading", "supervisor")


def decide(turn: "Turn", commands: Sequence[c.Command]) -> list[c.Answer]:
    """One cycle; the answers stand in the order of the commands."""
    answers: dict[int, c.Answer] = {}
    for number in sorted(range(len(commands)), key=lambda n: not isinstance(commands[n], c.Stop)):
        answers[number] = order(turn, commands[number], _does)
    if turn.second:
        _look(turn)
    return [answers[number] for number in range(len(commands))]


def _does(command: c.Command, turn: "Turn") -> Outcome:
    """What a command does here; what has nothing to do with heat does what it does everywhere."""
    do = _HERE.get(type(command), carry_out)
    return do(command, turn)


def _start(command: c.Command, turn: "Turn") -> Outcome:
    why = carry_out(command, turn)[1]
    if why:
        return "", why
    turn.firing.test = None
    turn.go(Event.STARTED, ONLY_LOOKING, command.by.who, command.by.where)
    return f"The record runs. {ONLY_LOOKING}", ""


def _prepare(command: c.Command, turn: "Turn") -> Outcome:
    sentence, why = carry_out(command, turn)
    return ("", why) if why else (f"{sentence.partition('. ')[0]}. {ONLY_LOOKING}", "")


def _stop(command: c.Command, turn: "Turn") -> Outcome:
    firing = turn.firing
    closed = ""
    if firing.state in LIVE:
        _end(turn, Event.STOP, Event.STOPPED, "the record was ended", command.by)
        closed = " The record is closed."
    elif firing.state in (State.IDLE, State.COMPLETE):
        turn.go(Event.STOP, "stopped by you", command.by.who, command.by.where)
    return f"{ONLY_LOOKING} {SWITCH_OFF}{closed}", ""


def _lower(command: c.Command, turn: "Turn") -> Outcome:
    return f"{ONLY_LOOKING} Lower it at that regulator.", ""


def _note(command: c.Command, turn: "Turn") -> Outcome:
    sentence, why = carry_out(command, turn)
    if turn.firing.state is State.COMPLETING:
        _closed(turn, Event.COMPLETED, command.by)
    poured = isinstance(command, c.Note) and command.kind in POURING
    return ("", why) if why else (f"Noted. {ONLY_LOOKING}" if poured else sentence, "")


_HERE: dict[type, Callable[[c.Command, "Turn"], Outcome]] = {
    c.Prepare: _prepare,
    c.Start: _start,
    c.Stop: _stop,
    c.Lower: _lower,
    c.Note: _note,
}


def _look(turn: "Turn") -> None:
    """Begin a record when the furnace is hot, end it when it is cold."""
    seen, state = turn.firing.looked, turn.firing.state
    reading_c, now_s = turn.belief.last_c if turn.belief.reading is not None else None, turn.now_s
    if reading_c is None:
        return
    seen.hot_since_s = min(seen.hot_since_s, now_s) if reading_c >= HOT_C else inf
    seen.cold_since_s = min(seen.cold_since_s, now_s) if reading_c < WARM_C else inf
    seen.ready = seen.ready or reading_c < WARM_C
    if state in LIVE and seen.was_hot and now_s - seen.cold_since_s >= STEADY_S:
        _end(turn, Event.LAST_DONE, Event.COMPLETED, "it is cold again", _READING)
    elif state in LIVE:
        seen.was_hot = seen.was_hot or reading_c >= HOT_C
    elif seen.ready and now_s - seen.hot_since_s >= STEADY_S:
        _begin(turn)


def _begin(turn: "Turn") -> None:
    """By the reading: with what somebody prepared, else with a name that says no more than it knows."""
    firing = turn.firing
    if firing.prepared is None:
        carry_out(c.Prepare(_READING, _unasked(turn.furnace.top_c), None), turn)
    prepared = firing.prepared
    assert prepared is not None  # just made
    profile = prepared.profile
    mass_kg = None if profile.charge is None else profile.charge.mass_kg
    firing.adviser.reckon()
    allowance.see(turn)
    allowed_wh = firing.prepared_allowance_wh
    assert allowed_wh is not None  # just reckoned
    echo = (profile.name, mass_kg, profile.top_c, profile.longest_s, allowed_wh)
    _start(c.Start(_READING, firing.epoch, *echo, cautions_read=True), turn)


def _unasked(top_c: float) -> Profile:
    segments = (Ramp(top_c, 600.0, None), Hold(LONGEST_S, None, False))
    return Profile("Heated by another regulator", segments, top_c, None, LONGEST_S, None, "")


def _end(turn: "Turn", event: Event, proved: Event, why: str, by: c.By) -> None:
    """Close the record: there is no contactor of ours to wait for."""
    turn.go(event, why, by.who, by.where)
    _closed(turn, proved, by)


def _closed(turn: "Turn", event: Event, by: c.By) -> None:
    """Until it has been cold, the same heat begins no second record."""
    turn.go(event, ONLY_LOOKING, by.who, by.where)
    turn.firing.looked.ready = turn.firing.looked.was_hot = False
