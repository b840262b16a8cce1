"""A recorded firing, looked at once more: state, presses and notes as they were recorded, judged by today's watches.

Nothing is decided and nothing is switched. What the firing did comes from the record, cycle by cycle; believing,
advising and judging are the very functions of the live cycle.
"""

from collections.abc import Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import fields, replace
from math import nan
from typing import Any, NamedTuple

from hardware.ports import CYCLE_S, OFF, Level, Outputs, Permit, Reading
from supervisor.cycle import first_memory, look, remember
from supervisor.firing import commands as c
from supervisor.firing import start
from supervisor.firing.carry_out import carry_out
from supervisor.firing.firing import YOU
from supervisor.firing.holds import hold
from supervisor.firing.orders import NAMES
from supervisor.firing.presses import Asked
from supervisor.firing.profile import Profile
from supervisor.firing.proofs import told_at_once
from supervisor.firing.questions import answer
from supervisor.firing.start import StartTest
from supervisor.firing.states import HEATED, Event, State
from supervisor.firing.turn import Turn
from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook.records import AlarmRow, EventRow
from supervisor.model.learned import Model
from supervisor.rehearsal.record import Recorded
from supervisor.watches import WATCHES
from supervisor.watches.finding import Leave

BEGAN_S = 3600.0
"""Process time of the start in the replay: what was before it has room, and no time is negative."""

QUIET_S = 2.0
MOST_BEFORE_S = 1200

LATER_S = 3.0

_ENDS = {State.ABORTING.value, State.STOPPING.value}
_WATCHES = {watch.id for watch in WATCHES}

NOT_AGAIN = {c.Prepare, c.Start, c.Hold, c.Resume, c.Stop, c.Reset, c.Raise, c.Adopt}
"""Commands whose outcome the record tells by itself: a state, a press, or nothing that a watch sees."""


class Spoke(NamedTuple):
    """A watch spoke. t_s: since the firing's start."""

    watch: str
    t_s: float
    evidence: str


class Firing(NamedTuple):
    """What the log keeps of one firing beside its samples."""

    firing_id: int
    profile: Profile
    frozen: Mapping[str, Any]
    events: Sequence[Mapping[str, Any]]
    commands: Sequence[Mapping[str, Any]]
    knowing: Model | None
    commissioning: Model | None
    quiet_before_s: float  # since the program began, nothing heated before the start
    simulated: bool
    at_rest: Reading  # before the start


def again(firing: Firing, furnace: FurnaceDescription, recorded: Iterator[Recorded]) -> Iterator[Spoke]:
    """Judge a recorded firing; what each watch says, as it says it."""
    replay = None
    for cycle in recorded:
        if replay is None:
            replay = _Replay(firing, furnace, cycle)
        yield from replay.turn(cycle)


class _Replay:
    """The memory of a supervisor that is told what it did."""

    def __init__(self, firing: Firing, furnace: FurnaceDescription, first: Recorded) -> None:
        self._firing, self._furnace = firing, furnace
        self._raise_k = 0.0
        self._events = sorted(firing.events, key=lambda row: row["t_ms"])
        self._commands = sorted(firing.commands, key=lambda row: row["t_ms"])
        self._memory = first_memory(
            furnace,
            backend="simulated" if firing.simulated else "recorded",
            monotonic_s=BEGAN_S - QUIET_S,
            next_firing_id=firing.firing_id,
            left_open=None,
            knowing=firing.knowing,
            commissioning=firing.commissioning,
            drained=bool(firing.frozen.get("drained")),
        )
        self._begin(first)

    def _begin(self, first: Recorded) -> None:
        """At rest for as long as the program had been; then prepared and started as the record says."""
        memory = self._memory
        state = memory.firing
        state.cold_checked = state.lid_seen_moving = True  # conditions of a start, or of a boost that was given
        at_rest, pulses = self._firing.at_rest, first.sample.energy_pulses
        for _ in range(min(int(self._firing.quiet_before_s), MOST_BEFORE_S)):
            memory.history.append(at_rest.hot_junction_c, nan, 0.0, pulses)
        rest = first.sample.inputs._replace(mirror=Level.CLOSED, reset_button=Level.OPEN)
        sample = first.sample._replace(inputs=rest, sensors=(at_rest,))
        turn = None
        for number in range(round(QUIET_S / CYCLE_S)):
            at_s = BEGAN_S - QUIET_S + (number + 1) * CYCLE_S
            turn = look(memory, sample._replace(monotonic_s=at_s), CYCLE_S)
            remember(memory, turn, OFF)
        assert turn is not None
        profile, by = self._firing.profile, c.By("record", "record", "record")
        carry_out(c.Prepare(by, profile, None), turn)
        mass_kg = None if profile.charge is None else profile.charge.mass_kg
        allowance_wh = state.prepared_allowance_wh
        echo = c.Start(by, state.epoch, profile.name, mass_kg, profile.top_c, profile.longest_s, allowance_wh, True)
        carry_out(echo, turn)
        run = state.run
        assert run is not None, "a start that reads back what was prepared"
        run.allowance_wh = float(self._firing.frozen.get("allowance_wh", run.allowance_wh))
        run.began_s = BEGAN_S
        state.test, state.cut_short = StartTest(since_s=BEGAN_S), False

    def turn(self, cycle: Recorded) -> list[Spoke]:
        """One cycle: look, then do what the record says was done."""
        memory = self._memory
        sample = cycle.sample
        for _ in range(cycle.unseen_s):
            memory.history.append(nan, nan, 0.0, sample.energy_pulses)
        if cycle.skipped:
            sample = sample._replace(monotonic_s=memory.belief.monotonic_s)
        memory.cycles = cycle.number
        memory.outputs = memory.outputs._replace(relay=cycle.relay)
        turn = look(memory, sample, cycle.dt_s)
        spoke = [_spoke(record) for record in turn.records if _raised(record)]
        speaking = {name for name, standing in memory.alarms.standing.items() if standing.active}
        if silent := self._ended_by(turn) - speaking:
            spoke += self._a_little_later(turn, silent)
        self._as_recorded(turn, cycle)
        remember(memory, turn, self._outputs())
        return spoke

    def _ended_by(self, turn: Turn) -> set[str]:
        """The watches that ended the firing in this cycle, by the record."""
        due = [row for row in self._events if row["t_ms"] <= _until_ms(turn)]
        ends = [row["detail"] for row in due if row["kind"] == "state" and row["detail"].get("to") in _ENDS]
        return {name for detail in ends for name in str(detail.get("why", "")).split(", ")} & _WATCHES

    def _a_little_later(self, turn: Turn, watches: set[str]) -> list[Spoke]:
        """What ended it then, and is silent yet: had the firing gone on like this for a moment, would it have spoken?

        A row a second leaves out three readings of four: a limit that was just reached then is reached a little later.
        """
        spoke: list[Spoke] = []
        memory, sample, outputs = deepcopy(self._memory), turn.sample, self._outputs()
        for number in range(1, round(LATER_S / CYCLE_S) + 1):
            silent = watches - {each.watch for each in spoke}
            if not silent:
                break
            later = look(memory, sample._replace(monotonic_s=turn.now_s + number * CYCLE_S), CYCLE_S)
            spoke += [each for each in map(_spoke, filter(_raised, later.records)) if each.watch in silent]
            remember(memory, later, outputs._replace(relay=self._memory.outputs.relay))
        return spoke

    def _outputs(self) -> Outputs:
        firing = self._memory.firing
        enable = firing.enable or (firing.test is not None and firing.test.enable)
        permit = Permit.TOGGLE if firing.state in HEATED or enable else Permit.STILL
        return Outputs(False, enable, permit, False, False)

    def _as_recorded(self, turn: Turn, cycle: Recorded) -> None:
        firing, now_ms = turn.firing, _until_ms(turn)
        while self._commands and self._commands[0]["t_ms"] <= now_ms:
            self._command(self._commands.pop(0), turn)
        while self._events and self._events[0]["t_ms"] <= now_ms:
            row = self._events.pop(0)
            _EVENTS.get(row["kind"], _nothing)(turn, row["detail"], self)
        if cycle.row is None:
            return
        if firing.state.value != cycle.row["state"]:
            firing.state, firing.entered_s = State(cycle.row["state"]), turn.now_s
        setpoint_c, run = cycle.row["setpoint_c"], firing.run
        firing.setpoint_c, firing.duty = setpoint_c, cycle.row["duty"]
        if setpoint_c is not None and run is not None and firing.state is State.RUNNING:
            run.walk.setpoint_c = setpoint_c + run.lowered_k - run.boost.moved_k

    def _command(self, row: Mapping[str, Any], turn: Turn) -> None:
        kind = _KINDS.get(row["kind"])
        if kind is c.Raise:
            self._raise_k = float(row["detail"].get("by_k", 0.0))
        if kind is None or kind in NOT_AGAIN or not row["accepted"]:
            return
        known = {field.name for field in fields(kind)}
        given = {name: value for name, value in row["detail"].items() if name in known}
        if "epoch" in known:
            given["epoch"] = turn.firing.epoch  # it was the right one, or it would have been refused
        if kind is c.Note:
            given["kind"] = c.NoteKind(given["kind"])
        try:
            carry_out(kind(by=c.By("record", row["who"], row["sent_from"]), **given), turn)
        except TypeError:  # of another version: it lacks what the command needs today
            return

    def press(self, turn: Turn, asked: Asked) -> None:
        """What a press at the furnace did."""
        firing, run = turn.firing, turn.firing.run
        if run is None or run.closed:
            return
        if asked is Asked.RAISE:
            run.lowered_k = max(0.0, run.lowered_k - self._raise_k)
        if asked in (Asked.START, Asked.RESUME):
            firing.lid.given_back()
            run.hands_in = False
            if not firing.enable:  # until the contactor is seen to be in
                firing.test = start.again(turn.now_s, proves_relay=told_at_once(turn))
        if asked not in (Asked.START, Asked.RESET):
            answer(turn, asked)


def _nothing(turn: Turn, detail: Mapping[str, Any], replay: _Replay) -> None:
    """Follows by itself from what was seen, or no watch looks at it."""


def _state(turn: Turn, detail: Mapping[str, Any], replay: _Replay) -> None:
    """The firing passed to another state; what that brings with it is the table's own."""
    firing, to = turn.firing, State(detail["to"])
    if to is State.HOLDING:
        for name in str(detail.get("why", "")).split(", "):
            you = name == "held by you"
            hold(turn, YOU if you else name, Leave.BY_A_PERSON, 1.0 if you else 0.0)
    if firing.state is not to:
        turn.go(Event(detail["by"]), str(detail.get("why", "")))
    if firing.state is not to:
        firing.state, firing.entered_s = to, turn.now_s
    if to is State.RUNNING:
        firing.enable, firing.test = True, None
    elif to not in HEATED:
        firing.enable = False


def _press(turn: Turn, detail: Mapping[str, Any], replay: _Replay) -> None:
    replay.press(turn, Asked(detail["answers"]))


def _contactor(turn: Turn, detail: Mapping[str, Any], replay: _Replay) -> None:
    if detail.get("ordered") == "open":
        turn.firing.enable = False


def _boost(turn: Turn, detail: Mapping[str, Any], replay: _Replay) -> None:
    run = turn.firing.run
    if run is not None and "on" in detail:
        run.boost.on = bool(detail["on"])
        run.boost.began = run.boost.began or run.boost.on


def _start_test(turn: Turn, detail: Mapping[str, Any], replay: _Replay) -> None:
    test = turn.firing.test
    if test is not None and not detail.get("passed", True):
        test.failed = str(detail.get("why", "a proof failed"))


def _sign(turn: Turn, detail: Mapping[str, Any], replay: _Replay) -> None:
    turn.firing.attendance.answer(turn.now_s)


_EVENTS = {
    "state": _state,
    "press": _press,
    "contactor": _contactor,
    "boost": _boost,
    "start test": _start_test,
    "sign": _sign,
}

SWITCHES = frozenset({"state", "press", "contactor"})
"""Events after which inputs may read otherwise than in the row before."""

_KINDS = {name: kind for kind, name in NAMES.items()}


def _until_ms(turn: Turn) -> float:
    """Events up to half a cycle from now are of this one."""
    return (turn.now_s - BEGAN_S + CYCLE_S / 2.0) * 1000.0


def _raised(record: object) -> bool:
    if isinstance(record, AlarmRow):
        return record.step == "raised"
    return isinstance(record, EventRow) and record.kind == "finding" and record.detail["step"] == "raised"


def _spoke(record: Any) -> Spoke:
    t_s = record.t_ms / 1000.0
    if isinstance(record, AlarmRow):
        return Spoke(record.watch, t_s, record.evidence)
    return Spoke(record.detail["watch"], t_s, record.detail["evidence"])


def at_its_start(profile: Profile, frozen: Mapping[str, Any]) -> Profile:
    """The profile as it was started: limits and charge as the record froze them."""
    return replace(
        profile,
        top_c=float(frozen.get("top_c", profile.top_c)),
        pour_c=frozen.get("pour_c", profile.pour_c),
        longest_s=float(frozen.get("longest_s", profile.longest_s)),
    )
