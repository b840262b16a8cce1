"""The states of a firing and the one table that says how it passes between them.

Names after ISA-88 (IEC 61512). A command that is not allowed now is refused before this table is asked; only a state
or event that the table does not know ends in aborting: it is a fault of ours.
"""

from collections.abc import Mapping
from enum import Enum


class State(Enum):
    """Where a firing stands."""

    __hash__ = object.__hash__  # the library's is a call in Python, ten times a cycle
    STOPPED = "stopped"
    IDLE = "idle"
    STARTING = "starting"
    RUNNING = "running"
    HOLDING = "holding"
    HELD = "held"
    STOPPING = "stopping"
    COMPLETING = "completing"
    COMPLETE = "complete"
    ABORTING = "aborting"
    ABORTED = "aborted"


class Event(Enum):
    """What moves a firing on."""

    PREPARE = "prepare"
    START = "start"
    STARTED = "started"  # the start test and the held press are done
    GIVE_UP = "give up"  # nobody pressed, or it was undecided twice
    HOLD = "hold"
    HELD = "held"
    RESUME = "resume"
    STOP = "stop"
    STOPPED = "stopped"  # the contactor is proved open
    LAST_DONE = "last segment done"
    POURED = "poured"
    COMPLETED = "completed"
    TRIP = "trip"
    ABORTED = "aborted"  # the contactor is proved open
    RESET = "reset"


_ANY_LIVE = {Event.STOP: State.STOPPING, Event.TRIP: State.ABORTING}
_ENDS = _ANY_LIVE | {Event.POURED: State.COMPLETING}

TRANSITIONS: Mapping[State, Mapping[Event, State]] = {
    State.STOPPED: {Event.PREPARE: State.IDLE, Event.TRIP: State.ABORTING, Event.RESET: State.STOPPED},
    State.IDLE: {
        Event.PREPARE: State.IDLE,
        Event.START: State.STARTING,
        Event.STOP: State.STOPPED,
        Event.TRIP: State.ABORTING,
    },
    State.STARTING: {Event.STARTED: State.RUNNING, Event.GIVE_UP: State.STOPPING} | _ANY_LIVE,
    State.RUNNING: {Event.HOLD: State.HOLDING, Event.LAST_DONE: State.COMPLETING} | _ENDS,
    State.HOLDING: {Event.HELD: State.HELD} | _ENDS,
    State.HELD: {Event.RESUME: State.RUNNING} | _ENDS,
    State.STOPPING: {Event.STOPPED: State.STOPPED, Event.TRIP: State.ABORTING},
    State.COMPLETING: {Event.COMPLETED: State.COMPLETE} | _ANY_LIVE,
    State.COMPLETE: {Event.PREPARE: State.IDLE, Event.STOP: State.STOPPED, Event.TRIP: State.ABORTING},
    State.ABORTING: {Event.ABORTED: State.ABORTED, Event.TRIP: State.ABORTING},
    State.ABORTED: {Event.RESET: State.STOPPED, Event.TRIP: State.ABORTED},
}

LIVE = frozenset({State.STARTING, State.RUNNING, State.HOLDING, State.HELD, State.COMPLETING})
"""A firing is on: a stop has something to stop."""

HEATED = frozenset({State.RUNNING, State.HOLDING, State.HELD})
"""The contactor may be in and the permit is given."""


def next_state(state: State, event: Event) -> State:
    """Look up the state that follows. What the table does not know is a fault of ours and ends in aborting."""
    return TRANSITIONS.get(state, {}).get(event, State.ABORTING)
