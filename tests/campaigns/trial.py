"""One seeded firing in virtual time, through driver and pins; what came of it is read from records and pins."""

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass, field

from hardware.ports import Plant
from hardware.simulated.furnace import Edge, Furnace
from hardware.simulated.in_process import InProcess
from hardware.simulated.stand_in import StandIn
from supervisor.cycle import cycle, first_memory
from supervisor.firing.commands import Command
from supervisor.firing.profile import Profile
from supervisor.firing.states import State
from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook.records import AlarmRow, EventRow, Record
from supervisor.rehearsal.person import Person

ENDED = (State.STOPPED, State.COMPLETE, State.ABORTED)


@dataclass(frozen=True, slots=True)
class Setting:
    """What a trial is made from."""

    furnace: FurnaceDescription
    plant: Callable[[], Plant]
    profile: Profile
    seed: int
    answer_after_s: float
    happenings: tuple["Happening", ...] = ()


@dataclass(slots=True)
class Said:
    """One watch has begun to speak, at the furnace's own time. priority: 0 is no alarm, but worth a line in the log."""

    time_s: float
    watch: str
    priority: int
    evidence: str


Acts = Generator[list[Command], None, None]


@dataclass(frozen=True, slots=True)
class Happening:
    """Something a person does while the firing runs: begun after so long in running, at the next quiet moment."""

    name: str
    after_s: float
    act: Callable[["Trial"], Acts]


@dataclass(slots=True)
class _Heard:
    alarms: list[Said] = field(default_factory=list)
    whys: list[str] = field(default_factory=list)  # of every change of state


class Trial:
    """One firing with a stand-in at the furnace."""

    def __init__(self, setting: Setting) -> None:
        described, profile = setting.furnace, setting.profile
        self.setting = setting
        plant = setting.plant()
        self.furnace = Furnace(
            plant,
            described.wiring,
            seed=setting.seed,
            limiter_c=described.limiter_c,
            pulses_per_kwh=described.pulses_per_kwh or 1000,
        )
        if profile.charge is not None:
            alloy = profile.charge.alloy
            plant.add_charge(profile.charge.mass_kg, 20.0, alloy)
        self.hardware = InProcess(self.furnace)
        self.memory = first_memory(
            described, backend="simulated", monotonic_s=self.furnace.time_s, next_firing_id=1, left_open=None
        )
        self.stand_in = StandIn(setting.answer_after_s)
        self.person = Person(self.memory, self.furnace, self.stand_in, profile, None)
        self._acts = self.person.act()
        self._waiting = sorted(setting.happenings, key=lambda happening: happening.after_s)
        self._doing: Acts | None = None
        self._running_s = 0.0
        self._heard = _Heard()

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
    def alarms(self) -> Sequence[Said]:
        """Everything that was raised, in order; also what is no alarm."""
        return self._heard.alarms

    @property
    def whys(self) -> Sequence[str]:
        """Why each change of state came about, in order."""
        return self._heard.whys

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

    def _hear(self, record: Record) -> None:
        if isinstance(record, AlarmRow) and record.step == "raised":
            self._heard.alarms.append(Said(self.time_s, record.watch, record.priority, record.evidence))
        elif isinstance(record, EventRow) and record.kind == "finding" and record.detail["step"] == "raised":
            self._heard.alarms.append(Said(self.time_s, record.detail["watch"], 0, record.detail["evidence"]))
        elif isinstance(record, EventRow) and record.kind == "state":
            self._heard.whys.append(f"{record.detail['to']}: {record.detail['why']}")

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
        edges: list[Edge] = [edge for edge in self.furnace.edges if edge.line == line]
        if not edges:
            return 0.0
        return None if edges[-1].level else max(0.0, edges[-1].time_s - since_s)
