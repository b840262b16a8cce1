"""A hold: how it begins, who may end it, and how heat comes back."""

from supervisor.firing.firing import OWN_RETURNS, PRESS_AFTER_HELD_S, YOU, Held
from supervisor.firing.profile import top_hold_c
from supervisor.firing.setpoint import restart_from
from supervisor.firing.states import Event
from supervisor.firing.turn import Turn
from supervisor.watches.finding import Leave


def hold(turn: Turn, name: str, leave: Leave) -> None:
    """Add one reason for a hold; the first freezes the setpoint at the lowest of setpoint, reading and target."""
    firing, run = turn.firing, turn.firing.run
    firing.held[name] = Held(leave, turn.now_s)
    if run is None or firing.hold_setpoint_c is not None:
        return
    known = [value for value in (firing.setpoint_c, turn.belief.last_c) if value is not None]
    firing.hold_setpoint_c = min([*known, top_hold_c(run.profile)])


def leaving(turn: Turn) -> Leave:
    """Who may end this hold: the strongest of its contributors' rules, and a press where it is long or hot."""
    firing, run = turn.firing, turn.firing.run
    rules = [
        Leave.BY_A_PERSON
        if name == YOU or (held.leave is Leave.BY_ITSELF and run is not None and _returns(run.returns, name))
        else held.leave
        for name, held in firing.held.items()
    ]
    leave = max(rules, default=Leave.BY_ITSELF)
    reading_c = turn.belief.last_c
    limit_c = None if run is None else run.gate.limit_c
    hot = limit_c is not None and reading_c is not None and reading_c > limit_c
    long = any(turn.now_s - held.since_s > PRESS_AFTER_HELD_S for held in firing.held.values())
    if hot or long or not firing.enable or (run is not None and run.hands_in):
        return Leave.BY_A_PRESS
    return leave


def _returns(returns: dict[str, int], name: str) -> bool:
    return returns.get(name, 0) >= OWN_RETURNS


def back(turn: Turn, why: str) -> None:
    """Leave the hold: from the reading, no lost time made up."""
    firing, run = turn.firing, turn.firing.run
    assert run is not None and turn.belief.last_c is not None  # held is a state of a run, and the sensor answers
    for name in firing.held:
        run.returns[name] = run.returns.get(name, 0) + 1
    restart_from(run.walk, turn.belief.last_c)
    turn.go(Event.RESUME, why)
