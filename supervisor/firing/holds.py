"""A hold: how it begins, who may end it, and how heat comes back."""

from supervisor.firing.boosting import end
from supervisor.firing.firing import OWN_RETURNS, PRESS_AFTER_HELD_S, YOU, Firing, Held
from supervisor.firing.profile import top_hold_c
from supervisor.firing.setpoint import restart_from
from supervisor.firing.states import Event
from supervisor.firing.turn import Turn
from supervisor.watches.finding import Leave


def hold(turn: Turn, name: str, leave: Leave, duty_ceiling: float = 1.0) -> None:
    """Add one reason for a hold; the first freezes the setpoint at the lowest of setpoint, reading and target."""
    firing, run = turn.firing, turn.firing.run
    firing.held[name] = Held(leave, turn.now_s, duty_ceiling)
    if run is not None and run.boost.began:
        end(run.boost, "the firing was held")
    if run is None or firing.hold_setpoint_c is not None:
        return
    known = [value for value in (firing.setpoint_c, turn.belief.last_c) if value is not None]
    firing.hold_setpoint_c = min([*known, top_hold_c(run.profile) - run.lowered_k])


def stands(firing: Firing) -> bool:
    """What a watch held it for is still there."""
    return any(held.standing for name, held in firing.held.items() if name != YOU)


def leaving(turn: Turn) -> Leave:
    """Who may end this hold: the strongest of its contributors' rules, and a press where it is long or hot."""
    firing, run = turn.firing, turn.firing.run
    leave = max((_rule(turn, name, held) for name, held in firing.held.items()), default=Leave.BY_ITSELF)
    reading_c = turn.belief.last_c
    limit_c = None if run is None else run.gate.limit_c
    hot = limit_c is not None and reading_c is not None and reading_c > limit_c
    long = any(turn.now_s - held.since_s > PRESS_AFTER_HELD_S for held in firing.held.values())
    if hot or long or not firing.enable or (run is not None and (run.hands_in or run.gate.may_be_liquid)):
        return Leave.BY_A_PRESS
    return leave


def _rule(turn: Turn, name: str, held: Held) -> Leave:
    run = turn.firing.run
    if name == YOU:
        return Leave.BY_A_PERSON
    if held.leave is Leave.BY_ITSELF and run is not None and run.returns.get(name, 0) >= OWN_RETURNS:
        return Leave.BY_A_PRESS if name == "lid" else Leave.BY_A_PERSON  # nobody far away sees hands at the lid
    return held.leave


def lid_gives_heat_back(turn: Turn) -> bool:
    """Lamp and sounder warn: the lid is shut, and heat is about to return with nobody asking for it."""
    firing = turn.firing
    if not firing.lid.warns(turn.now_s) or leaving(turn) is not Leave.BY_ITSELF:
        return False
    return not any(held.standing for name, held in firing.held.items() if name not in (YOU, "lid"))


def back(turn: Turn, why: str, *, by_itself: bool = False) -> None:
    """Leave the hold: from the reading, no lost time made up."""
    firing, run = turn.firing, turn.firing.run
    assert run is not None  # held is a state of a run
    assert turn.belief.last_c is not None  # a permissive
    if by_itself:
        for name in firing.held:
            run.returns[name] = run.returns.get(name, 0) + 1
    restart_from(run.walk, turn.belief.last_c + run.lowered_k - run.boost.moved_k)
    turn.go(Event.RESUME, why)
