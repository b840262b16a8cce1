"""One seeded firing in virtual time, through driver and pins; what came of it is read from records and contacts."""

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass, field

from hardware.ports import Plant
from hardware.simulated.furnace import Edge, Furnace
from hardware.simulated.in_process import InProcess
from hardware.simulated.stand_in import StandIn
from supervisor.cycle import cycle, first_memory
from supervisor.firing.commands import Command
from supervisor.firing.profile import Hold, Profile, top_hold_c
from supervisor.firing.states import HEATED, State
from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook.records import AlarmRow, EventRow, Record
from supervisor.rehearsal.drill.mains import Mains
from supervisor.rehearsal.drill.subject import NOTHING_KNOWN, Known
from supervisor.rehearsal.drill.warm import Warm, warm
from supervisor.rehearsal.person import Person
from supervisor.watches import WATCHES
from supervisor.watches.finding import NOTHING, Reaction
from supervisor.watches.row import Moment

AT_REST = (State.STOPPED, State.COMPLETE, State.ABORTED)
SETTLED_WITHIN_K = 10.0  # of the setpoint: a hold that is one
CALM_AFTER_LID_S = 180.0
HOT_C = 200.0
REACTIONS = {watch.id: watch.reaction for watch in WATCHES}
MAINS_FAULTS = ("mains_low", "mains_step")


@dataclass(frozen=True, slots=True)
class Setting:
    """What a trial is made from. true_mass: in the pot, over what is entered. before: None: the furnace is cold."""

    furnace: FurnaceDescription
    plant: Callable[[], Plant]
    profile: Profile
    seed: int
    answer_after_s: float
    happenings: tuple["Happening", ...] = ()
    known: Known = NOTHING_KNOWN
    true_mass: float = 1.0
    before: Warm | None = None


@dataclass(slots=True)
class Said:
    """One watch has begun to speak, at the furnace's own time. priority: 0 is no alarm, but worth a line in the log.

    folded: it follows from an alarm that stands, under which people find it.
    """

    time_s: float
    watch: str
    priority: int
    evidence: str
    reaction: Reaction = NOTHING
    folded: bool = False


Acts = Generator[list[Command], None, None]


@dataclass(frozen=True, slots=True)
class Happening:
    """Something a person does while the firing runs: begun after so long in running, at the next quiet moment."""

    name: str
    after_s: float
    act: Callable[["Trial"], Acts]


@dataclass(slots=True)
class Seen:
    """What a trial keeps of its course. Temperatures of the hot face and the metal are the plant's truth."""

    said: list[Said] = field(default_factory=list)
    whys: list[str] = field(default_factory=list)  # of every change of state
    heated_s: int = 0
    suppressed_s: int = 0  # of them, with the reading not held against the model
    hot_face_c: float = 0.0
    metal_c: float = 0.0
    in_moment_s: dict[Moment, int] = field(default_factory=dict)


class Trial:
    """One firing with a stand-in at the furnace."""

    def __init__(self, setting: Setting) -> None:
        described, profile = setting.furnace, setting.profile
        self.setting = setting
        plant = setting.plant()
        if setting.before is not None:
            warm(plant, setting.before)
        self.furnace = Furnace(
            plant,
            described.wiring,
            seed=setting.seed,
            limiter_c=described.limiter_c,
            pulses_per_kwh=described.pulses_per_kwh or 1000,
        )
        self.hardware = InProcess(self.furnace)
        self.memory = first_memory(
            described,
            backend="simulated",
            monotonic_s=self.furnace.time_s,
            next_firing_id=1,
            left_open=None,
            knowing=setting.known.adopted,
            commissioning=setting.known.commissioning,
            drained=True,
        )
        self.memory.firing.cold_checked = setting.before is not None  # this morning, when it was cold
        self.stand_in = StandIn(setting.answer_after_s)
        self.person = Person(self.memory, self.furnace, self.stand_in, profile, None, true_mass=setting.true_mass)
        self.seen = Seen()
        self.moment: Moment | None = None  # as of the last second
        self._acts = self.person.act()
        self._waiting = sorted(setting.happenings, key=lambda happening: happening.after_s)
        self._doing: Acts | None = None
        self._running_s = 0.0
        self._mains = Mains(setting.seed)

    @property
    def time_s(self) -> float:
        """The furnace's own clock."""
        return self.furnace.time_s

    @property
    def state(self) -> State:
        """Where the firing stands."""
        return self.memory.firing.state

    @property
    def over(self) -> bool:
        """The firing has its closing record and the person has put everything away."""
        run = self.memory.firing.run
        return run is not None and run.closed and self.person.done

    @property
    def target_c(self) -> float:
        """What the metal is meant to reach."""
        return top_hold_c(self.setting.profile)

    @property
    def alarms(self) -> Sequence[Said]:
        """Everything that was raised, in order; also what is no alarm."""
        return self.seen.said

    def turn(self) -> None:
        """Go on by one cycle."""
        before_s = self.time_s
        sample = self.hardware.sample()
        commands = [*next(self._acts), *self._happens()]
        step = cycle(self.memory, sample, commands, sample.monotonic_s - before_s)
        self.hardware.apply(step.outputs)
        for record in step.records:
            self._hear(record)
        self.stand_in.look(self.furnace, lamp=step.outputs.lamp, now_s=self.time_s)
        if self.state is State.RUNNING:
            self._running_s += sample.monotonic_s - before_s
        if self.memory.cycles % 4 == 0:
            self._second()

    def _second(self) -> None:
        seen, plant = self.seen, self.furnace.state
        if not any(name in self.furnace.injected for name in MAINS_FAULTS):
            self.furnace.mains_factor = self._mains.second()
        seen.hot_face_c = max(seen.hot_face_c, plant.hot_face_c)
        if plant.metal_kg > 0.0:
            seen.metal_c = max(seen.metal_c, plant.metal_hottest_c)
        if self.state in HEATED:
            seen.heated_s += 1
            seen.suppressed_s += self.suppressed
        self.moment = self._moment()
        if self.moment is not None:
            seen.in_moment_s[self.moment] = seen.in_moment_s.get(self.moment, 0) + 1

    @property
    def suppressed(self) -> bool:
        """The reading is not held against the model just now: a start, a lid, an addition."""
        innovations = self.memory.innovations
        return innovations is None or innovations.mean_10_k is None

    def _moment(self) -> Moment | None:
        run, reading_c = self.memory.firing.run, self.memory.belief.last_c
        if run is None or reading_c is None:
            return "start" if self.state in (State.STOPPED, State.IDLE) else None
        if self.state in AT_REST:
            return "idle" if run.closed and reading_c > HOT_C else None
        if self.state is not State.RUNNING or run.walk.done:
            return None
        share = self.furnace.state.share_molten
        if run.gate.shut and run.gate.asks:
            return "gate"
        if 0.001 < share < 0.999:
            return "arrest"
        if isinstance(run.profile.segments[run.walk.segment], Hold):
            return "hold" if self._settled(reading_c) else None
        return "ramp" if share == 0.0 else None

    def _settled(self, reading_c: float) -> bool:
        firing = self.memory.firing
        shut_s = firing.lid.last_shut_s
        calm = shut_s is None or self.time_s - shut_s >= CALM_AFTER_LID_S
        return calm and firing.setpoint_c is not None and abs(reading_c - firing.setpoint_c) <= SETTLED_WITHIN_K

    def _hear(self, record: Record) -> None:
        if isinstance(record, AlarmRow) and record.step == "raised":
            self._heard(record.watch, record.priority, record.evidence, folded=record.folded)
        elif isinstance(record, EventRow) and record.kind == "finding" and record.detail["step"] == "raised":
            self._heard(record.detail["watch"], 0, record.detail["evidence"])
        elif isinstance(record, EventRow) and record.kind == "state":
            self.seen.whys.append(f"{record.detail['to']}: {record.detail['why']}")

    def _heard(self, watch: str, priority: int, evidence: str, *, folded: bool = False) -> None:
        standing = self.memory.alarms.standing.get(watch)
        reaction = REACTIONS[watch] if standing is None else REACTIONS[watch] | standing.reaction
        self.seen.said.append(Said(self.time_s, watch, priority, evidence, reaction, folded))

    def _happens(self) -> list[Command]:
        """What the happening in progress says in this cycle; the next one begins when nobody has hands in."""
        if self._doing is None:
            quiet = self.state is State.RUNNING and self.furnace.interlock.lid_shut
            if not self._waiting or not quiet or self._running_s < self._waiting[0].after_s:
                return []
            self._doing = self._waiting.pop(0).act(self)
        commands = next(self._doing, None)
        if commands is None:
            self._doing = None
        return commands or []

    def now_do(self, act: Callable[["Trial"], Acts]) -> None:
        """Begin this at once, in place of what is being done."""
        self._doing = act(self)

    def wait(self, seconds: float) -> Acts:
        """For happenings: so long nothing is said."""
        until_s = self.time_s + seconds
        while self.time_s < until_s:
            yield []

    def off_for_good_s(self, line: str, since_s: float) -> float | None:
        """From since_s to the last time this line went off, s; 0 when it was off before, None when it is on."""
        edge: Edge | None = next((edge for edge in reversed(self.furnace.edges) if edge.line == line), None)
        if edge is None:
            return 0.0
        return None if edge.level else max(0.0, edge.time_s - since_s)
