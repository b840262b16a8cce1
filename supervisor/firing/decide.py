"""Decide: findings first, then stops, then every other command, then the firing's own progress.

Pure in what it touches: no clock, no pin, no disk. It changes the firing it is given and nothing else.
"""

from collections.abc import Sequence

from hardware.ports import Level
from supervisor.firing import aftermath, looking, proofs, start
from supervisor.firing import commands as c
from supervisor.firing.attending import attend
from supervisor.firing.firing import YOU
from supervisor.firing.holds import back, hold, leaving, stands
from supervisor.firing.orders import order
from supervisor.firing.permissives import going_on, unmet
from supervisor.firing.questions import answer, put_questions
from supervisor.firing.states import HEATED, LIVE, TRANSITIONS, Event, State
from supervisor.firing.turn import Turn
from supervisor.firing.witnessing import see_end
from supervisor.watches.finding import Leave, Then

IDLE_FOR_S = 1800.0
CURRENT_MAY_LINGER_S = 1.0


def decide(turn: Turn, commands: Sequence[c.Command]) -> list[c.Answer]:
    """One cycle of the firing; the answers stand in the order of the commands."""
    if turn.furnace.looks_only:
        return looking.decide(turn, commands)
    before = turn.firing.state
    _obey_findings(turn)
    answers: dict[int, c.Answer] = {}
    # Stops before all others: nobody's start or going on may overtake them in the queue.
    for number in sorted(range(len(commands)), key=lambda n: not isinstance(commands[n], c.Stop)):
        answers[number] = order(turn, commands[number])
    if turn.answered is not None:
        answer(turn, turn.answered)
    put_questions(turn)
    _PROGRESS.get(turn.firing.state, _rest)(turn)
    if turn.firing.state is not before:
        attend(turn)  # what is at stake has changed: nobody reads a second later what is not so any more
    return [answers[number] for number in range(len(commands))]


def _obey_findings(turn: Turn) -> None:
    if turn.firing.state not in TRANSITIONS:
        turn.go(Event.TRIP, "a state that no table knows")
    state, then = turn.firing.state, turn.reaction.then
    if then is Then.ABORT and state not in (State.ABORTING, State.ABORTED):
        turn.go(Event.TRIP, _speaking(turn, Then.ABORT))
        aftermath.ended(turn)
    elif then is Then.STOP and state in LIVE:
        turn.go(Event.STOP, _speaking(turn, Then.STOP))
    elif then is Then.HOLD and state is State.STARTING:
        turn.go(Event.GIVE_UP, _speaking(turn, Then.HOLD))
    elif state in (State.RUNNING, State.HOLDING, State.HELD):
        _holds(turn)


def _speaking(turn: Turn, then: Then) -> str:
    """Who ends it; the one that spoke first is the firing's first cause."""
    speaking = turn.alarms.speaking(then)
    run = turn.open_run
    if run is not None and run.first_cause is None and speaking:
        run.first_cause = speaking[0]
    return ", ".join(speaking)


def _holds(turn: Turn) -> None:
    firing = turn.firing
    standing = {n: s for n, s in turn.alarms.standing.items() if s.stands and s.reaction.then is Then.HOLD}
    for name, finding in standing.items():
        known = firing.held.get(name)
        if known is None:
            hold(turn, name, finding.reaction.leave, finding.reaction.duty_ceiling)
        else:
            known.standing, known.leave = True, max(known.leave, finding.reaction.leave)
            known.duty_ceiling = min(known.duty_ceiling, finding.reaction.duty_ceiling)
        if finding.reaction.drop_contactor and firing.enable:
            firing.enable = False
            turn.event("contactor", {"ordered": "open", "why": name})
    for name, held in firing.held.items():
        if name != YOU and name not in standing:
            held.standing = False
    if standing and firing.hold_setpoint_c is not None:  # stays where a finding took it, when its cause is gone
        firing.hold_setpoint_c = min(firing.hold_setpoint_c, turn.reaction.setpoint_ceiling_c)
    if standing:
        firing.test, firing.asked_to_go_on = None, False  # whoever asked to go on did not know of this
        if firing.state is State.RUNNING:
            turn.go(Event.HOLD, ", ".join(standing))


# --- progress ----------------------------------------------------------------------------------------------------


def _rest(turn: Turn) -> None:
    """Nothing moves by itself here."""


def _idle(turn: Turn) -> None:
    if turn.now_s - turn.firing.prepared_s > IDLE_FOR_S:
        turn.go(Event.STOP, "nobody started within 30 min")


def _starting(turn: Turn) -> None:
    firing, test = turn.firing, turn.firing.test
    assert test is not None  # made by the start
    if turn.lid_open:
        turn.go(Event.GIVE_UP, "the lid was opened during the start test")
        return
    _turn_test(turn, test)
    if test.let_go:
        turn.go(Event.GIVE_UP, "the button was let go before the contactor was in")
    elif test.undecided is not None:
        turn.go(Event.GIVE_UP, f"the relay could not be proved: {test.undecided}")
    elif test.step is start.Step.DONE and test.failed is None:
        firing.enable, firing.test = True, None
        firing.to_prove -= aftermath.START_TEST_PROVES
        turn.event("start test", {"passed": True, "times_s": test.times})
        turn.go(Event.STARTED, "start test passed, button held at the furnace", "at the furnace", "furnace")


def _turn_test(turn: Turn, test: start.StartTest) -> None:
    if test.failed is not None:
        return
    reading_c = turn.belief.last_c or 0.0
    sample = turn.sample
    start.turn(test, sample.inputs, sample.energy_pulses, reading_c, turn.now_s, turn.furnace, proofs.metered(turn))
    if test.proof is not None:
        proofs.keep(turn, test.proof, tries=start.LONGEST_PROOFS if test.undecided else 1)
    if test.failed is not None:  # the watch over start tests trips on it; nothing is driven meanwhile
        turn.event("start test", {"passed": False, "step": test.step.value, "why": test.failed, "times_s": test.times})


def _running(turn: Turn) -> None:
    run = turn.firing.run
    if run is not None and run.walk.done:
        turn.go(Event.LAST_DONE, "last segment done")


def _holding(turn: Turn) -> None:
    turn.go(Event.HELD, "setpoint frozen")


def _held(turn: Turn) -> None:
    firing, test = turn.firing, turn.firing.test
    if test is not None:
        _turn_test(turn, test)
        if test.let_go:
            firing.test = None  # asked again
        elif test.step is start.Step.DONE and test.failed is None:
            firing.enable, firing.test = True, None
            back(turn, "contactor in again")
        return
    if stands(firing):
        return
    leave = leaving(turn)
    if leave is Leave.BY_ITSELF or (leave is Leave.BY_A_PERSON and firing.asked_to_go_on):
        missing = unmet(going_on(turn.facts))
        if missing is None and firing.enable:
            own = leave is Leave.BY_ITSELF
            back(turn, "its cause is gone" if own else "asked to go on", by_itself=own)


def _stopping(turn: Turn) -> None:
    firing, inputs = turn.firing, turn.sample.inputs
    lingers = inputs.load_current is Level.CLOSED and turn.now_s - firing.entered_s < CURRENT_MAY_LINGER_S
    if not lingers:
        firing.enable = False
    if not firing.enable and inputs.mirror is Level.CLOSED:
        event = Event.COMPLETED if firing.state is State.COMPLETING else Event.STOPPED
        turn.go(event, "contactor proved open")
        see_end(turn)


def _aborting(turn: Turn) -> None:
    turn.firing.enable = False
    if turn.sample.inputs.mirror is Level.CLOSED:
        turn.go(Event.ABORTED, "contactor proved open")


_PROGRESS = {
    State.IDLE: _idle,
    State.STARTING: _starting,
    State.RUNNING: _running,
    State.HOLDING: _holding,
    State.HELD: _held,
    State.STOPPING: _stopping,
    State.COMPLETING: _stopping,
    State.ABORTING: _aborting,
}


def notice(turn: Turn, second_c: float | None) -> None:
    """See button, lid and gate before anything is judged: the watches look at what these say.

    second_c: the reading's mean over the second that ends now: no single frame makes the gate believe in liquid.
    """
    firing, run = turn.firing, turn.firing.run
    inputs = turn.sample.inputs
    if turn.belief.time_ok:  # a doubtful sample shows no press
        turn.answered = firing.button.see(inputs.reset_button, turn.now_s)
    if firing.button.pressed_since_s == turn.now_s and firing.button.question is None:
        # It answers nothing, and is no sign of presence: somebody at the furnace has heard the alarm.
        turn.seen(turn.alarms.acknowledge(None, at_furnace=True), "at the furnace")
    if inputs.load_current is Level.CLOSED:
        firing.current_s = turn.now_s
    if inputs.lid is Level.OPEN:
        firing.lid_seen_open, firing.lid_shut_s = True, None
    elif inputs.lid is Level.CLOSED and firing.lid_seen_open:
        firing.lid_seen_moving = True
        firing.lid_shut_s = turn.now_s if firing.lid_shut_s is None else firing.lid_shut_s
    if turn.second:
        attend(turn)
    if firing.state not in HEATED or run is None:
        return
    before = firing.lid.openings
    was_open = firing.lid.opened_s is not None
    firing.lid.see(inputs.lid, turn.now_s, hands_in=run.hands_in or run.gate.may_be_liquid)
    run.lid_openings = firing.lid.openings
    if firing.lid.openings != before or was_open != (firing.lid.opened_s is not None):
        firing.change()
        turn.event("lid", {"open": firing.lid.opened_s is not None})
    if second_c is not None:
        liquid, shut = run.gate.may_be_liquid, run.gate.shut
        run.gate.see(second_c, turn.now_s)
        if run.gate.may_be_liquid != liquid:
            turn.event("gate", {"may be liquid": True, "reading_c": round(second_c, 2)})
        if run.gate.shut and not shut:
            turn.event("gate", {"open": False, "why": "no press for 15 min while all is solid"})
