"""A recorded firing, looked at once more: state, presses and notes as they were recorded, judged by today's watches.

Nothing is decided and nothing is switched. What the firing did comes from the record, cycle by cycle; believing,
advising and judging are the very functions of the live cycle.
"""

from collections.abc import Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import replace
from math import nan
from typing import Any, NamedTuple

from hardware.ports import CYCLE_S, OFF, Level, Outputs, Permit, Reading
from supervisor.cycle import first_memory, look, remember
from supervisor.firing import allowance
from supervisor.firing import commands as c
from supervisor.firing.carry_out import carry_out
from supervisor.firing.heat import count_bound, reached
from supervisor.firing.profile import Profile
from supervisor.firing.start import StartTest
from supervisor.firing.states import HEATED, State
from supervisor.firing.turn import Turn
from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook.records import AlarmRow, EventRow
from supervisor.model.learned import Model
from supervisor.rehearsal.done import Done
from supervisor.rehearsal.record import Recorded
from supervisor.watches import WATCHES

BEGAN_S = 3600.0
"""Process time of the start in the replay: what was before it has room, and no time is negative."""

QUIET_S = 2.0
MOST_BEFORE_S = 1200

LATER_S = 3.0

DUTY_OVER_S = 10

_WATCHES = {watch.id for watch in WATCHES}


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
        self._done = Done(firing.events, firing.commands)
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
        state.adviser.reckon()
        allowance.see(turn)
        allowance_wh = state.prepared_allowance_wh
        assert allowance_wh is not None  # just reckoned
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
        if silent := (self._done.ended_by(_until_ms(turn)) & _WATCHES) - speaking:
            spoke += self._a_little_later(turn, silent)
        self._as_recorded(turn, cycle)
        remember(memory, turn, self._outputs())
        return spoke

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
        firing = turn.firing
        self._done.go_on(turn, _until_ms(turn))
        if cycle.row is None:
            return
        if firing.state.value != cycle.row["state"]:
            firing.state, firing.entered_s = State(cycle.row["state"]), turn.now_s
        self._reached(turn, cycle)
        setpoint_c, run = cycle.row["setpoint_c"], firing.run
        firing.setpoint_c = setpoint_c
        if setpoint_c is not None and run is not None and firing.state is State.RUNNING:
            run.walk.setpoint_c = setpoint_c + run.lowered_k - run.boost.moved_k

    def _reached(self, turn: Turn, cycle: Recorded) -> None:
        """What regulating leaves to the watches."""
        run, history = turn.firing.run, self._memory.history
        reading_c = history.hot_c()
        if not turn.second or run is None or turn.firing.state not in HEATED or reading_c is None:
            return
        reached(run, reading_c, turn.now_s)
        turn.firing.duty = history.mean_duty(DUTY_OVER_S) or 0.0  # the log keeps what the relay did
        count_bound(turn, run)


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
