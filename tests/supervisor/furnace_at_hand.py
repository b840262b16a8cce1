"""A furnace at hand: the real cycle on the simulated furnace, in virtual time, down to frames and pins.

Every turn checks what must hold in every turn, whatever a test is about: see `_holds_always`.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from hardware.ports import CYCLE_S, Outputs, Permit, Plant, Sample
from hardware.simulated.furnace import Furnace
from hardware.simulated.in_process import InProcess
from hardware.simulated.plant import Bench, Workshop
from hardware.simulated.stand_in import StandIn
from supervisor.cycle import Memory, cycle, first_memory
from supervisor.firing import commands as c
from supervisor.firing.presses import Asked
from supervisor.firing.profile import Hold, Profile, Ramp
from supervisor.firing.states import State
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.link.snapshot import snapshot
from supervisor.logbook.records import AlarmRow, EventRow, Record, SampleRow
from supervisor.metal.alloys import charge
from supervisor.metal.charge import Planned
from tests.supervisor.always import heat_only_in_order, says_only_what_is_true

BENCH, WORKSHOP = read_furnace("bench"), read_furnace("workshop")
PLANTS: dict[str, Callable[..., Plant]] = {"bench": Bench, "workshop": Workshop}


def melt(
    *,
    to_c: float = 740.0,
    rate_c_per_h: float = 900.0,
    mass_kg: float = 2.0,
    alloy: str = "6082",
    longest_h: float = 3.5,
    word: bool = True,
) -> Profile:
    """A melt: one ramp, a hold that waits for the reading and for a person's word, a rest."""
    return Profile(
        "Melt for a test",
        (Ramp(to_c, rate_c_per_h, None), Hold(300.0, 5.0, word), Hold(120.0, None, False)),
        to_c + 20.0,
        to_c - 20.0,
        longest_h * 3600.0,
        charge(mass_kg, alloy, "off-cuts"),
        "",
    )


def bake(
    *, to_c: float = 200.0, rate_c_per_h: float = 300.0, hold_s: float = 3600.0, longest_h: float = 6.0
) -> Profile:
    """A firing without metal."""
    segments = (Ramp(to_c, rate_c_per_h, None), Hold(hold_s, None, False))
    return Profile("Bake for a test", segments, to_c + 20.0, None, longest_h * 3600.0, None, "")


@dataclass
class FurnaceAtHand:
    """One simulated furnace with its supervisor, and the verbs of the person who stands at both."""

    furnace: Furnace
    hardware: InProcess
    memory: Memory
    records: list[Record] = field(default_factory=list)
    outputs: Outputs | None = None
    stand_in: StandIn | None = None
    relay_on_s: float = 0.0
    edges_of_permit: int = 0
    _said: int = 0
    _permit_pin: bool = False
    _shown_epoch: int = 0

    # -- time ---------------------------------------------------------------------------------------------------

    def turn(self, *commands: c.Command, sample: Sample | None = None) -> list[c.Answer]:
        """One cycle: sample, judge, apply. sample: in place of the next one (a repeated one, a doubtful one)."""
        before_s = self.memory.belief.monotonic_s
        sample = self.hardware.sample() if sample is None else sample
        elapsed_s = sample.monotonic_s - before_s
        step = cycle(self.memory, sample, commands, elapsed_s if elapsed_s > 0 else CYCLE_S)
        self.hardware.apply(step.outputs)
        self.outputs = step.outputs
        self.records.extend(step.records)
        self.relay_on_s += CYCLE_S * step.outputs.relay
        self._holds_always(sample, step.outputs)
        if self.stand_in is not None:
            self.stand_in.look(self.furnace, lamp=step.outputs.lamp, now_s=sample.monotonic_s)
        return list(step.answers)

    def wait(self, seconds: float) -> None:
        """Let time pass."""
        for _ in range(round(seconds / CYCLE_S)):
            self.turn()

    def run_until(self, done: Callable[[], bool], at_most_s: float) -> float:
        """Let time pass until something holds; the seconds it took. Fails when it does not come."""
        for number in range(round(at_most_s / CYCLE_S)):
            if done():
                return number * CYCLE_S
            self.turn()
        assert done(), f"not within {at_most_s} s; {self.describe()}"
        return at_most_s

    def describe(self) -> str:
        """Where things stand, for a failing test."""
        shown = snapshot(self.memory)
        alarms = [alarm["id"] for alarm in shown["alarms"]]
        hot, setpoint_c = shown["hot_junction"], shown["setpoint_c"]
        return f"{shown['state']}, {hot}, setpoint {setpoint_c}, {alarms}, {shown['question']}"

    # -- what people do ------------------------------------------------------------------------------------------

    def send(self, command: c.Command) -> c.Answer:
        """One command, judged in the next cycle."""
        return self.turn(command)[0]

    def by(self, who: str = "Ada's phone") -> c.By:
        """A new sender's id."""
        self._said += 1
        return c.By(f"id-{self._said}", who, "page")

    def prepare(self, profile: Profile) -> None:
        planned = None
        if profile.charge is not None and self.memory.firing.unlocking.counted:  # a real furnace asks for a plan
            planned = Planned(profile.charge, profile.pour_c or profile.top_c, 12 * 3600.0)
        answer = self.send(c.Prepare(self.by(), profile, None, planned))
        assert answer.accepted, answer

    def start_command(self, **changes: Any) -> c.Start:
        prepared = self.memory.firing.prepared
        assert prepared is not None
        profile = prepared.profile
        mass_kg = None if profile.charge is None else profile.charge.mass_kg
        self.run_until(lambda: self.memory.firing.prepared_allowance_wh is not None, 60.0)
        allowance_wh = self.memory.firing.prepared_allowance_wh
        assert allowance_wh is not None
        command = c.Start(
            self.by(), self.epoch, profile.name, mass_kg, profile.top_c, profile.longest_s, allowance_wh, True
        )
        return replace(command, **changes)

    def start(self, profile: Profile, *, charged: bool = True) -> None:
        """From stopped to running, as a person does it: prepare, step one, the held press."""
        if charged and profile.charge is not None:
            self.furnace.add_charge(profile.charge.mass_kg, 20.0, profile.charge.alloy)
        self.wait(1.0)
        self.prepare(profile)
        answer = self.send(self.start_command())
        assert answer.accepted, answer
        self.run_until(lambda: self.asked is Asked.START, 20.0)
        self.hold_button()
        self.run_until(lambda: self.state is State.RUNNING, 20.0)

    def press(self, seconds: float = 0.5) -> None:
        """Press the button at the furnace and wait until it is released."""
        self.furnace.press(seconds)
        self.wait(seconds + 0.5)

    def hold_button(self) -> None:
        """The press that starts, goes on and resets."""
        self.press(3.75)

    def hold(self) -> c.Answer:
        return self.send(c.Hold(self.by()))

    def resume(self) -> c.Answer:
        return self.send(c.Resume(self.by(), self.epoch))

    def stop(self) -> c.Answer:
        return self.send(c.Stop(self.by()))

    def note(self, kind: c.NoteKind, **fields: Any) -> c.Answer:
        return self.send(c.Note(self.by(), kind, self.epoch, **fields))

    def answer_everything(self, after_s: float = 3.0) -> None:
        """Somebody stands there from now on and presses whenever the lamp asks."""
        self.stand_in = StandIn(after_s)

    def inject(self, fault: str, value: float | None = None) -> None:
        self.furnace.inject(fault, value)

    # -- what is seen --------------------------------------------------------------------------------------------

    @property
    def state(self) -> State:
        return self.memory.firing.state

    @property
    def epoch(self) -> int:
        return self.memory.epoch

    @property
    def now_s(self) -> float:
        return self.memory.belief.monotonic_s

    @property
    def reading_c(self) -> float:
        reading_c = self.memory.belief.last_c
        assert reading_c is not None
        return reading_c

    @property
    def asked(self) -> Asked | None:
        question = self.memory.firing.button.question
        return None if question is None else question.asked

    @property
    def first_cause(self) -> str | None:
        run = self.memory.firing.run
        return None if run is None else run.first_cause

    def alarms(self, step: str = "raised") -> list[str]:
        """Every watch that was raised (or returned, ...), in order, alarms alone."""
        return [row.watch for row in self.records if isinstance(row, AlarmRow) and row.step == step]

    def events(self, kind: str) -> list[EventRow]:
        return [row for row in self.records if isinstance(row, EventRow) and row.kind == kind]

    def rows(self) -> list[SampleRow]:
        return [row for row in self.records if isinstance(row, SampleRow)]

    def shown(self) -> dict[str, Any]:
        return snapshot(self.memory)

    def last_edge_s(self, line: str, *, after_s: float = -1.0) -> float | None:
        """When a line last changed, on the furnace's own clock."""
        times = [edge.time_s for edge in self.furnace.edges if edge.line == line and edge.time_s > after_s]
        return times[-1] if times else None

    def level(self, line: str) -> bool:
        """The level of a line now, from the furnace's own record of its edges."""
        levels = [edge.level for edge in self.furnace.edges if edge.line == line]
        return levels[-1] if levels else False

    # -- what holds in every turn --------------------------------------------------------------------------------

    def _holds_always(self, sample: Sample, outputs: Outputs) -> None:
        pins = self.furnace.outputs
        heat_only_in_order(self.memory, sample, outputs, pins)
        self.edges_of_permit += pins["permit"] != self._permit_pin
        assert (pins["permit"] != self._permit_pin) <= (outputs.permit is not Permit.STILL)
        self._permit_pin = pins["permit"]
        if self.epoch != self._shown_epoch:
            self._shown_epoch = self.epoch
            says_only_what_is_true(self.shown(), sample, outputs)


def furnace_at_hand(
    name: str = "bench",
    *,
    seed: int = 1,
    start_c: float = 20.0,
    spread: float = 0.0,
    limiter_c: float | None = None,
    left_open: str | None = None,
    described: FurnaceDescription | None = None,
) -> FurnaceAtHand:
    """A furnace, its supervisor just begun. A warm one has passed its cold check this morning."""
    description = described or {"bench": BENCH, "workshop": WORKSHOP}[name]
    plant = PLANTS[name](seed=seed, spread=spread, start_c=start_c)
    furnace = Furnace(
        plant,
        description.wiring,
        seed=seed,
        limiter_c=description.limiter_c if limiter_c is None else limiter_c,
        pulses_per_kwh=description.pulses_per_kwh or 1000,
    )
    hardware = InProcess(furnace)
    memory = first_memory(
        description, backend=hardware.name, monotonic_s=furnace.time_s, next_firing_id=1, left_open=left_open
    )
    memory.firing.cold_checked = start_c >= 40.0
    return FurnaceAtHand(furnace, hardware, memory)


def running(profile: Profile | None = None, *, start_c: float = 450.0, **made: Any) -> FurnaceAtHand:
    """A warm furnace, started and running."""
    hand = furnace_at_hand(start_c=start_c, **made)
    hand.start(profile or melt())
    return hand


def names(alarms: Iterable[dict[str, Any]]) -> list[str]:
    """The watches of a snapshot's alarms."""
    return [alarm["watch"] for alarm in alarms]
