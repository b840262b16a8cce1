"""What lamp and sounder ask, one question at a time, and what the press that answers it does."""

from supervisor.firing import aftermath, start
from supervisor.firing.adopting import adopt
from supervisor.firing.attendance import Stage
from supervisor.firing.firing import YOU, Run
from supervisor.firing.holds import back, leaving, stands
from supervisor.firing.permissives import going_on, unmet
from supervisor.firing.presses import ANSWER_WITHIN_S, Asked
from supervisor.firing.proofs import told_at_once
from supervisor.firing.setpoint import restart_from
from supervisor.firing.states import HEATED, LIVE, Event, State
from supervisor.firing.turn import Turn
from supervisor.watches.finding import Leave
from supervisor.watches.hold import NEEDS_MORE_POWER

ASKED_AGAIN_AFTER_S = 300.0
TENTHS_AT_MOST = 2
ASKED_AT_TARGET_S = 900
"""A spent allowance has kept heat back for so long at the target: more than a healthy furnace needs to come back from
an opened lid with what is left (20 K in some 6 min, simulated)."""


def put_questions(turn: Turn) -> None:
    """Put what is wanted, withdraw what is not, end what nobody answered."""
    button, now_s = turn.firing.button, turn.now_s
    question = button.question
    if question is not None and button.expired(now_s):
        button.withdraw()
        turn.firing.change()
        _unanswered(turn, question.asked)
    wanted = _wanted(turn)
    question = button.question
    if question is not None and question.asked is not wanted:
        # A press that is under way for it counts for nothing: what it was to answer is not so any more.
        button.withdraw()
        turn.firing.change()
        question = None
    if wanted is None or question is not None:
        return
    if button.put(wanted, now_s):
        turn.firing.change()
        turn.event("question", {"asked": wanted.value})
    else:
        _cannot_be_put(turn, wanted)


def _wanted(turn: Turn) -> Asked | None:
    firing, run = turn.firing, turn.firing.run
    if firing.state is State.STARTING:
        test = firing.test
        return Asked.START if test is not None and test.step is start.Step.ASKING else None
    if firing.found is not None:
        return Asked.RESET
    if firing.adopting is not None and firing.state not in LIVE:
        return Asked.ADOPT
    sign = Asked.SIGN if firing.attendance.stage(turn.now_s) >= Stage.ASKED else None
    if firing.state not in HEATED or run is None:
        return sign
    if firing.state is State.HELD and _asks_to_go_on(turn):
        return Asked.RESUME
    if firing.raising is not None:
        return Asked.RAISE
    if run.mass_doubt is not None and not run.mass_confirmed and turn.now_s >= run.mass_asked_s:
        return Asked.MASS
    gate = run.gate.wants(turn.now_s) or sign
    if gate is not None:
        return gate
    if run.tenths >= TENTHS_AT_MOST or turn.now_s < run.allowance_again_s or not _lacks_energy(turn, run):
        return None
    return Asked.ALLOWANCE


def _lacks_energy(turn: Turn, run: Run) -> bool:
    """The spent allowance is an alarm, or has long kept the target from being held."""
    spent = turn.alarms.standing.get("energy-allowance")
    return (spent is not None and spent.stands) or (run.was_ready and run.bound_s >= ASKED_AT_TARGET_S)


def _asks_to_go_on(turn: Turn) -> bool:
    firing = turn.firing
    if firing.test is not None or stands(firing) or turn.lid_open:
        return False
    if leaving(turn) is not Leave.BY_A_PRESS:
        return False
    if firing.asked_to_go_on:
        return True
    only_you = set(firing.held) <= {YOU}
    standing = firing.button.question is not None and firing.button.question.asked is Asked.RESUME
    return not only_you and (standing or turn.now_s >= firing.asked_again_s)


def _unanswered(turn: Turn, asked: Asked) -> None:
    firing = turn.firing
    turn.event("not answered", {"asked": asked.value})
    if asked is Asked.START:
        turn.go(Event.GIVE_UP, "nobody held the button within 60 s")
    elif asked is Asked.RESUME:
        firing.asked_to_go_on, firing.asked_again_s = False, turn.now_s + ASKED_AGAIN_AFTER_S
    elif asked is Asked.RESET:
        firing.found = None
    elif asked is Asked.RAISE:
        firing.raising = None
    elif asked is Asked.ADOPT:
        firing.adopting = None
    elif asked is Asked.MASS and firing.run is not None:
        firing.run.mass_asked_s = turn.now_s + ASKED_AGAIN_AFTER_S
    elif asked is Asked.ALLOWANCE and firing.run is not None:
        firing.run.allowance_again_s = turn.now_s + ASKED_AGAIN_AFTER_S


def _cannot_be_put(turn: Turn, asked: Asked) -> None:
    """The button does not read released: what somebody asked for lapses as if nobody had pressed."""
    firing = turn.firing
    since_s = firing.entered_s if firing.test is None else firing.test.since_s
    wished_s = since_s if asked is Asked.START else firing.wished_s
    lapses = asked in (Asked.START, Asked.RESET, Asked.RAISE, Asked.ADOPT) or (
        asked is Asked.RESUME and firing.asked_to_go_on
    )
    if lapses and turn.now_s - wished_s > ANSWER_WITHIN_S:
        firing.change()
        _unanswered(turn, asked)


def answer(turn: Turn, asked: Asked) -> None:
    """A press at the furnace has answered this question, as long as nothing of this cycle has overtaken it."""
    firing, run = turn.firing, turn.firing.run
    firing.change()
    turn.event("press", {"answers": asked.value}, "at the furnace", "furnace")
    firing.attendance.sign(turn.now_s)
    if asked is Asked.RESET:
        _reset(turn)
    elif asked is Asked.START:
        _start(turn)
    elif asked is Asked.ADOPT:
        _adopt(turn)
    elif run is None or firing.state not in HEATED:
        return
    elif asked is Asked.RESUME:
        _resume(turn)
    elif asked is Asked.RAISE:
        _raise(turn)
    elif asked is Asked.ALLOWANCE:
        run.tenths += 1
        turn.events_that_heat = True
    elif asked is Asked.MASS:
        run.mass_confirmed = True
        firing.adviser.follow.other_mass = True  # the plain rules are what is left until it has long been liquid
    if run is not None and asked not in (Asked.START, Asked.RESET, Asked.ADOPT):
        _keep_open(turn, opens=asked is Asked.GATE)
    if run is not None and asked is Asked.RESUME and run.boost.added and not run.boost.barred:
        run.arming_s = turn.now_s


def _keep_open(turn: Turn, *, opens: bool) -> None:
    """Every press that answers keeps the gate open for longer; the gate's own alone opens it."""
    run = turn.firing.run
    if run is None or (run.gate.shut and not opens):
        return
    turn.events_that_heat = turn.events_that_heat or run.gate.shut
    run.gate.sign(turn.now_s)


def _adopt(turn: Turn) -> None:
    command, turn.firing.adopting = turn.firing.adopting, None
    if command is not None and turn.firing.state not in LIVE:
        adopt(turn, command, "at the furnace", "furnace")


def _start(turn: Turn) -> None:
    test = turn.firing.test
    if turn.firing.state is not State.STARTING or test is None or test.step is not start.Step.ASKING:
        return
    missing = unmet(going_on(turn.facts))
    if turn.adds_nothing() or missing is not None:
        turn.go(Event.GIVE_UP, "a condition failed while the button was held" if missing is None else missing.reason)
        return
    test.enable = True
    test.enter(start.Step.PULLING_IN, turn.now_s)


def _resume(turn: Turn) -> None:
    firing, run = turn.firing, turn.firing.run
    assert run is not None  # checked by the caller
    if firing.state is not State.HELD or stands(firing) or unmet(going_on(turn.facts)) is not None:
        return
    firing.lid.given_back()
    run.hands_in = False
    if NEEDS_MORE_POWER in firing.held:
        run.looked_s = turn.now_s
    if firing.enable:
        back(turn, "button held at the furnace")
    else:
        firing.test = start.again(turn.now_s, proves_relay=told_at_once(turn))


def _raise(turn: Turn) -> None:
    firing, run = turn.firing, turn.firing.run
    if run is None or firing.raising is None or turn.adds_nothing():
        return
    before_k, run.lowered_k = run.lowered_k, max(0.0, run.lowered_k - firing.raising.by_k)
    restart_from(run.walk, run.walk.setpoint_c - (before_k - run.lowered_k))  # from where it is, at the segment's rate
    firing.raising = None
    turn.events_that_heat = True


def _reset(turn: Turn) -> None:
    firing = turn.firing
    if firing.found is None:
        return
    steps = turn.alarms.reset()
    turn.seen(steps, "at the furnace")
    parts = aftermath.reset(turn, [step.watch for step in steps if step.step == "reset"])
    detail = {**firing.found._asdict(), "to_prove": sorted(part.value for part in parts)}
    turn.event("reset", {**detail, "still_latched": turn.alarms.latched}, "at the furnace", "furnace")
    firing.found = firing.proofs.bars = None
    if firing.state is State.ABORTED and not turn.alarms.latched:
        turn.go(Event.RESET, "reset at the furnace", "at the furnace", "furnace")
