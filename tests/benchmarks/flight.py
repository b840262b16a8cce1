"""One firing flown for a benchmark: the real cycle, the real interlock and a plant, with somebody at the furnace."""

from collections.abc import Generator
from copy import deepcopy
from dataclasses import dataclass, field
from math import nan
from typing import NamedTuple

from hardware.ports import Plant, PlantState, Reading
from hardware.simulated.in_process import InProcess
from hardware.simulated.stand_in import StandIn
from supervisor.cycle import Memory, cycle
from supervisor.firing import commands as c
from supervisor.firing.profile import Profile
from supervisor.firing.states import HEATED, State
from supervisor.logbook.records import AlarmRow
from tests.benchmarks.bare import Bare
from tests.benchmarks.standard_firings import MAINS_FALL_S, MAINS_FALL_TO, Drawn, Kind

AFTER_READY_S = 1200.0
DIP_AFTER_READY_S = 180.0
ADDS_AFTER_READY_S = 300.0
LID_OPEN_S = 45.0
CREEP_MIN = 20.0
LEAK_W_K = 0.5
LONGEST_FAULTY_S = 2.5 * 3600.0

Acts = Generator[list[c.Command], None, None]


class Second(NamedTuple):
    """What is kept of each second. t_s: since running began; what is true comes from the plant."""

    t_s: float
    reading_c: float  # mean of the second's good ones
    setpoint_c: float
    duty: float
    ordered: float  # mean relay of the second
    metered_wh: float
    lid_open: bool
    true: PlantState
    boost: bool
    segment: int


class Minute(NamedTuple):
    """The estimate once a minute, beside the truth. No estimate: the doubt's sentence."""

    t_s: float
    metal_c: float
    low_c: float
    high_c: float
    doubt: str
    minutes: float | None
    true_c: float
    share_molten: float
    dipped: bool


@dataclass(slots=True)
class Flown:
    """What came of it."""

    seconds: list[Second] = field(default_factory=list)
    minutes: list[Minute] = field(default_factory=list)
    alarms: list[str] = field(default_factory=list)
    at_start: Plant | None = None  # a copy of the plant at the moment of running
    at_addition: Plant | None = None  # and when the lid was shut over the addition
    running_s: float | None = None
    ready_s: float | None = None  # since running; after an addition: of the whole charge
    added_s: float | None = None
    mass_doubted: bool = False
    relay_on_s: list[float] = field(default_factory=list)  # when the relay went on
    state: str = ""


class Flight:
    """Somebody at the furnace charges, starts, answers at once, adds and dips; the cycle does the rest."""

    def __init__(self, hardware: Bare | InProcess, memory: Memory, profile: Profile, kind: Kind, true: Drawn) -> None:
        self.hardware, self.memory, self.profile, self.kind, self.true = hardware, memory, profile, kind, true
        self.furnace = hardware.furnace
        self.furnace.mains_factor = true.mains_factor
        self.stand_in = StandIn(0.0)
        self.flown = Flown()
        self._said = 0
        self._acts = self._person()
        self._relay_on = 0
        self._relay_was = False
        self._read: list[float] = []  # in this second
        self._dipped = False
        self._broken = False

    def fly(self, at_most_s: float) -> Flown:
        """Until twenty minutes after the metal is ready, the profile's end, or at_most_s."""
        flown, memory = self.flown, self.memory
        while self.furnace.time_s < at_most_s and not self._over():
            before_s = self.furnace.time_s
            sample = self.hardware.sample()
            step = cycle(memory, sample, next(self._acts), sample.monotonic_s - before_s)
            self.hardware.apply(step.outputs)
            reading = sample.sensors[0]
            if isinstance(reading, Reading):
                self._read.append(reading.hot_junction_c)
            flown.alarms += [row.watch for row in step.records if isinstance(row, AlarmRow) and row.step == "raised"]
            self.stand_in.look(self.furnace, lamp=step.outputs.lamp, now_s=sample.monotonic_s)
            self._relay_on += step.outputs.relay
            if step.outputs.relay and not self._relay_was:
                flown.relay_on_s.append(self._t_s)
            self._relay_was = step.outputs.relay
            if memory.cycles % 4 == 0:
                self._second()
        flown.state = memory.firing.state.value
        return flown

    def _over(self) -> bool:
        run, flown = self.memory.firing.run, self.flown
        if run is not None and run.closed:
            return True
        if flown.running_s is None or flown.ready_s is None:
            return False
        waits = self.kind.on_the_way == "addition" and flown.added_s is None
        return not waits and self._t_s >= flown.ready_s + AFTER_READY_S

    @property
    def _t_s(self) -> float:
        return self.furnace.time_s - (self.flown.running_s or 0.0)

    def _second(self) -> None:
        flown, memory, furnace = self.flown, self.memory, self.furnace
        run, ordered = memory.firing.run, self._relay_on / 4.0
        reading_c = sum(self._read) / len(self._read) if self._read else nan
        self._relay_on, self._read = 0, []
        if run is None:
            return
        if flown.running_s is None:
            if memory.firing.state is not State.RUNNING:
                return
            flown.running_s = furnace.time_s
            flown.at_start = deepcopy(furnace.plant)
        self._break()
        state = furnace.state
        setpoint_c = memory.firing.setpoint_c
        flown.seconds.append(
            Second(
                self._t_s,
                reading_c,
                nan if setpoint_c is None else setpoint_c,
                memory.firing.duty,
                ordered,
                run.metered_wh,
                not furnace.interlock.lid_shut,
                state,
                run.boost.on,
                run.walk.segment,
            )
        )
        flown.mass_doubted |= run.mass_doubt is not None
        if flown.ready_s is None and self.profile.pour_c is not None and state.metal_coldest_c >= self.profile.pour_c:
            flown.ready_s = self._t_s
        if len(flown.seconds) % 60 == 0 and state.metal_kg:
            self._minute(state)

    def _minute(self, state: PlantState) -> None:
        adviser = self.memory.adviser
        estimate = adviser.estimate
        truth = (state.metal_mean_c, state.share_molten, self._dipped)
        if estimate is None or estimate.doubt:
            said = Minute(self._t_s, 0.0, 0.0, 0.0, "none" if estimate is None else estimate.doubt, None, *truth)
        else:
            left = adviser.minutes_left(self.memory.belief.monotonic_s)
            minutes = None if left is None else left.likely
            said = Minute(self._t_s, estimate.metal_c, estimate.low_c, estimate.high_c, "", minutes, *truth)
        self.flown.minutes.append(said)

    def _break(self) -> None:
        """Mains and faults, at their time."""
        furnace, kind = self.furnace, self.kind
        if kind.on_the_way == "mains" and self._t_s >= MAINS_FALL_S:
            furnace.mains_factor = MAINS_FALL_TO
        if kind.fault in ("creep", "leak") and not self._broken and self._t_s >= self.true.fault_s:
            self._broken = True
            furnace.inject(*(("sensor_creep", CREEP_MIN) if kind.fault == "creep" else ("leak", LEAK_W_K)))

    # -- the person ----------------------------------------------------------------------------------------------------

    def _person(self) -> Acts:
        yield from self._wait(1.0)
        yield [c.Prepare(self._by(), self.profile, None if self.profile.charge is None else "B-001")]
        yield from self._wait(1.0)
        if self.profile.charge is not None:  # charging: the lid switch is seen to move
            self.furnace.lid(True)
            yield from self._wait(3.0)
            self.furnace.lid(False)
            yield from self._wait(3.0)
        while self.memory.firing.prepared_allowance_wh is None:
            yield []
        yield [self._start()]
        dips = self.kind.share == 1.0 or self.kind.on_the_way == "mains"
        while True:
            ready_s = self.flown.ready_s
            if dips and not self._dipped and ready_s is not None and self._t_s >= ready_s + DIP_AFTER_READY_S:
                self._dipped = True
                truth_c = self.furnace.state.metal_mean_c
                yield [c.Note(self._by(), c.NoteKind.DIP, self.memory.epoch, temperature_c=round(truth_c, 1))]
            elif self._adds(ready_s):
                yield from self._add()
            else:
                yield []

    def _adds(self, ready_s: float | None) -> bool:
        due = ready_s is not None and self._t_s >= ready_s + ADDS_AFTER_READY_S
        return due and self.kind.on_the_way == "addition" and self.flown.added_s is None

    def _add(self) -> Acts:
        """Hold, lid, cold metal, note, lid, go on."""
        furnace, flown = self.furnace, self.flown
        charge = self.profile.charge
        assert charge is not None
        yield [c.Hold(self._by())]
        yield from self._wait(2.0)
        furnace.lid(True)
        yield from self._wait(LID_OPEN_S / 2.0)
        furnace.add_charge(charge.mass_kg * self.true.mass_factor, 20.0, charge.alloy)
        yield [c.Note(self._by(), c.NoteKind.ADDITION, self.memory.epoch, charge.mass_kg)]
        yield from self._wait(LID_OPEN_S / 2.0)
        furnace.lid(False)
        flown.added_s, flown.ready_s, flown.at_addition = self._t_s, None, deepcopy(furnace.plant)
        waited_s = 0.0
        while self.memory.firing.state in HEATED and self.memory.firing.state is not State.RUNNING:
            ask = waited_s % 20.0 == 1.0 and not self.memory.firing.asked_to_go_on
            yield [c.Resume(self._by(), self.memory.epoch)] if ask else []
            waited_s += 0.25

    def _wait(self, seconds: float) -> Acts:
        until_s = self.furnace.time_s + seconds
        while self.furnace.time_s < until_s:
            yield []

    def _start(self) -> c.Start:
        profile, allowance_wh = self.profile, self.memory.firing.prepared_allowance_wh
        assert allowance_wh is not None
        return c.Start(
            self._by(),
            self.memory.epoch,
            profile.name,
            None if profile.charge is None else profile.charge.mass_kg,
            profile.top_c,
            profile.longest_s,
            allowance_wh,
            cautions_read=True,
        )

    def _by(self) -> c.By:
        self._said += 1
        return c.By(f"benchmark-{self._said}", "stand-in", "benchmark")
