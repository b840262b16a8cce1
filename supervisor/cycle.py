"""One cycle, the straight line that everything here serves: believe, judge, decide, act, record.

Pure in what it touches: it reads no clock, moves no pin and writes no disk. A rehearsal, a drill, a test and a furnace
run this same code at the same rate. The memory it is given is changed in place and handed back: a copy each 250 ms
would cost more than all the judging. `copy.deepcopy` makes one where a test wants it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf, nan
from typing import Literal, NamedTuple

from hardware.ports import CYCLE_S, OFF, Inputs, Outputs, Permit, Sample
from supervisor.alarms.lifecycle import Alarms
from supervisor.firing import allowance, proving, solid, windowing
from supervisor.firing.advise import advise
from supervisor.firing.adviser import Adviser
from supervisor.firing.back import keep
from supervisor.firing.commands import Answer, Command
from supervisor.firing.control import Controller, Window, tuning, window
from supervisor.firing.decide import decide, notice
from supervisor.firing.feed_forward import FeedForward
from supervisor.firing.firing import Firing
from supervisor.firing.governor import RULE, BoostLimits
from supervisor.firing.heat import regulate, use_energy
from supervisor.firing.outputs import act
from supervisor.firing.pair import see_pair
from supervisor.firing.permissives import cold_check_passes
from supervisor.firing.power import see_power
from supervisor.firing.practice import see as see_practice
from supervisor.firing.states import LIVE, State
from supervisor.firing.turn import Turn
from supervisor.firing.witnessing import see_heat, see_inputs
from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook.records import Record
from supervisor.model.learned import Model
from supervisor.sampling import row_of, second_mean_c
from supervisor.watches import WATCHES, Watch, looking
from supervisor.watches.belief import believe, corrected, first_belief
from supervisor.watches.finding import Finding
from supervisor.watches.history import History
from supervisor.watches.view import Belief, Innovations, Log, View

ASKED: dict[State, tuple[Watch, ...]] = {s: tuple(w for w in WATCHES if s in w.states) for s in State}
ASKED_BETWEEN: dict[State, tuple[Watch, ...]] = {
    s: tuple(w for w in ws if not w.each_second) for s, ws in ASKED.items()
}

FINE_ROWS_FOR_S = 30.0
"""How long after a finding began the log keeps every cycle instead of every second. One that stands for hours, as low
mains does, would fill the card four times as fast, and say nothing new."""


@dataclass(slots=True)
class Memory:
    """Everything that one cycle leaves to the next."""

    furnace: FurnaceDescription
    backend: str
    belief: Belief
    firing: Firing
    controller: Controller
    window: Window
    next_firing_id: int
    limits: BoostLimits = RULE  # only the benchmark sets others, to compare
    alarms: Alarms = field(default_factory=Alarms)
    history: History = field(default_factory=History)
    log: Log = field(default_factory=Log)
    outputs: Outputs = OFF
    sample: Sample | None = None
    cycles: int = 0
    permit_high: bool = False
    rising_s: float | None = None  # the permit's last rising edge, while it is given
    heat_waits: bool = False  # what added heat last is not on disk yet
    fine_until_s: float = 0.0
    found_s: dict[str, float] = field(default_factory=dict)  # when each watch last found something
    second_c: list[float] = field(default_factory=list)  # this second's good readings
    mean_c: float | None = None  # of the last whole second: see `second_mean_c`
    second_on: int = 0
    quarters: int = 0  # relay and pulses of the last four cycles, as a row of the log has them
    packed: tuple[Inputs, int] | None = None  # the inputs as the last row had them

    @property
    def adviser(self) -> Adviser:
        """What the model says of the firing in progress."""
        return self.firing.adviser

    @property
    def innovations(self) -> Innovations | None:
        """How far the reading runs from what is expected of it; None, or means of None, while that is not reckoned."""
        return self.firing.adviser.follow.innovations

    @property
    def epoch(self) -> int:
        """Raised at each change that makes a person's picture old."""
        return self.firing.epoch

    def with_log(self, behind_s: float, trouble: str | None) -> "Memory":
        """What the loop says of the disk: real seconds since its oldest unwritten event, and what is wrong."""
        self.log.pending_s, self.log.trouble = behind_s, trouble
        self.log.pending = behind_s > 0.0
        return self


class Step(NamedTuple):
    """What one cycle leaves behind. The answers stand in the order of the commands."""

    memory: Memory
    outputs: Outputs
    records: Sequence[Record]
    answers: Sequence[Answer]


def first_memory(
    furnace: FurnaceDescription,
    *,
    backend: str,
    monotonic_s: float,
    next_firing_id: int,
    left_open: str | None,
    knowing: Model | None = None,
    commissioning: Model | None = None,
    controller: Literal["model", "plain"] = "model",
    drained: bool = False,
) -> Memory:
    """A supervisor that has just begun: stopped, everything off, nothing believed.

    knowing: the model for the firings to come; commissioning: the first one of this furnace. controller: `plain` for
    comparison, without any model. drained: the last firing left an empty pot.
    """
    adviser = Adviser(furnace, knowing, commissioning, plain=controller == "plain")
    firing = Firing(State.STOPPED, monotonic_s, adviser, enable_off_s=monotonic_s, left_open=left_open)
    firing.drained, firing.cut_short = drained, left_open is not None
    firing.unlocking.counted = backend != "simulated"
    return Memory(
        furnace,
        backend,
        first_belief(monotonic_s),
        firing,
        Controller(tuning(furnace), FeedForward(furnace, None), plain=controller == "plain"),
        window(furnace.relay_window_s),
        next_firing_id,
    )


def cycle(memory: Memory, sample: Sample, commands: Sequence[Command], dt_s: float) -> Step:
    """Take one sample to outputs and answers. dt_s: since the last cycle, by the caller's clock."""
    turn = look(memory, sample, dt_s)
    answers = decide(turn, commands)
    if turn.second:
        regulate(turn, memory.controller, memory.mean_c, memory.history, memory.limits)
    outputs = act(turn, memory.window, heat_on_disk=not (memory.heat_waits or turn.events_that_heat))
    remember(memory, turn, outputs)
    return Step(memory, outputs, turn.records, answers)


def look(memory: Memory, sample: Sample, dt_s: float) -> Turn:
    """Believe and judge: everything that comes before a decision, and that a recorded firing can be given again."""
    if memory.furnace.correction is not None:
        sample = corrected(sample, memory.furnace.correction)
    belief = believe(memory.belief, sample, dt_s, cycles=memory.cycles)
    turn = _turn(memory, sample, belief, dt_s)
    use_energy(turn, relay=memory.outputs.relay, dt_s=dt_s)
    see_power(turn, relay=memory.outputs.relay, dt_s=dt_s)
    if turn.second:
        if not memory.furnace.looks_only:
            proving.follow(turn, memory.history)
        see_pair(turn, memory.history)
        see_heat(turn)
        see_practice(turn)
    see_inputs(turn)
    notice(turn, memory.mean_c if turn.second else None)
    if turn.second:
        solid.see(turn, memory.mean_c, memory.history)
        advise(turn, memory.mean_c, memory.second_on / 4.0)
        keep(turn)
        windowing.see(turn)
    memory.adviser.catch_up()
    allowance.see(turn)
    judge(memory, turn)
    return turn


def _turn(memory: Memory, sample: Sample, belief: Belief, dt_s: float) -> Turn:
    memory.cycles += 1
    pulses = 0 if memory.sample is None else min(max(sample.energy_pulses - memory.sample.energy_pulses, 0), 7)
    memory.quarters = (memory.quarters << 4 | memory.outputs.relay << 3 | pulses) & 0xFFFF
    memory.belief, memory.sample = belief, sample
    second = memory.cycles % 4 == 0
    if belief.reading is not None:
        memory.second_c.append(belief.reading.hot_junction_c)
    memory.second_on += memory.outputs.relay
    if memory.firing.state not in LIVE:  # heating takes the two junctions apart, and proves nothing
        passed = cold_check_passes(belief)
        memory.firing.cold_checked = memory.firing.cold_checked if passed is None else passed
    now_s = memory.belief.monotonic_s
    if second:
        mean_c = memory.mean_c = second_mean_c(memory)
        setpoint_c = memory.firing.setpoint_c
        memory.history.append(
            nan if mean_c is None else mean_c,
            nan if setpoint_c is None else setpoint_c,
            memory.second_on / 4.0,
            sample.energy_pulses,
            nan if belief.last_cold_c is None or mean_c is None else belief.last_cold_c,
            4 - len(memory.second_c) if mean_c is not None else 4,
        )
    return Turn(
        memory.firing,
        memory.alarms,
        memory.furnace,
        sample,
        belief,
        memory.log,
        now_s=now_s,
        second=second,
        backend=memory.backend,
        next_firing_id=memory.next_firing_id,
    )


def judge(memory: Memory, turn: Turn) -> None:
    """Ask every watch of this state and let its alarm live on; none of them knows of another."""
    state = memory.firing.state
    gap_s = 0.0 if memory.rising_s is None else turn.now_s - memory.rising_s
    view = View(
        turn.now_s,
        turn.sample.inputs,
        turn.belief,
        memory.history,
        memory.firing,
        memory.furnace,
        memory.log,
        turn.sample.energy_pulses,
        gap_s,
        turn.sample.board,
        turn.sample.sensors[1] if len(turn.sample.sensors) > 1 else None,
        memory.innovations,
    )
    asked = (ASKED if turn.second else ASKED_BETWEEN).get(state, ())  # decide aborts where no table knows the state
    looks_only = memory.furnace.looks_only
    if looks_only:
        asked = looking.asked(asked)
    findings: list[Finding] = []
    for watch in asked:
        finding = watch.judge(view)
        if finding is not None:
            findings.append(looking.told(finding) if looks_only else finding)
    steps = memory.alarms.take(asked, findings, turn.now_s)
    if steps or (findings and _anew(memory, findings, turn.now_s)):
        memory.fine_until_s = turn.now_s + FINE_ROWS_FOR_S
    for each in findings:
        memory.found_s[each.watch] = turn.now_s
    if steps:
        turn.seen(steps)


def _anew(memory: Memory, findings: Sequence[Finding], now_s: float) -> bool:
    """Whether one of them begins, and does not only go on standing."""
    return any(now_s - memory.found_s.get(each.watch, -inf) > FINE_ROWS_FOR_S for each in findings)


def remember(memory: Memory, turn: Turn, outputs: Outputs) -> None:
    """Keep what the next cycle needs of this one, and its row for the log."""
    firing = memory.firing
    if memory.alarms.standing and turn.records:
        turn.seen(memory.alarms.forget_unasked(ASKED.get(firing.state, ()), turn.now_s))
    memory.next_firing_id = turn.next_firing_id
    if outputs.enable:
        firing.enable_off_s = None
    elif firing.enable_off_s is None:
        firing.enable_off_s = turn.now_s
    if turn.belief.time_ok:  # a doubtful cycle leaves the permit still, and its gap goes on being counted
        _follow_permit(memory, outputs.permit, turn.now_s)
    memory.heat_waits = turn.events_that_heat or (memory.heat_waits and memory.log.pending)
    run = turn.open_run
    if run is not None and (turn.second or turn.now_s < memory.fine_until_s):
        energy_wh = run.ordered_wh if memory.furnace.pulses_per_kwh is None else run.metered_wh
        turn.records.append(row_of(memory, turn, run.firing_id, energy_wh))
    if turn.second:
        memory.second_c.clear()
        memory.second_on = 0
    memory.outputs = outputs


def _follow_permit(memory: Memory, permit: Permit, now_s: float) -> None:
    if permit is Permit.TOGGLE:
        memory.permit_high = not memory.permit_high
        if memory.permit_high or memory.rising_s is None:
            memory.rising_s = now_s
    else:
        memory.rising_s = None
        if permit is not Permit.STILL:
            memory.permit_high = permit is Permit.HIGH


__all__ = ["CYCLE_S", "Memory", "Step", "cycle", "first_memory"]
