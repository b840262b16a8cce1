"""What the stand-in says and does in a rehearsal: prepares, charges, starts, skims, pours, gives the word; no presses.

One generator, resumed once a cycle with what a person would see; it yields the commands of that cycle.
"""

from collections.abc import Generator
from dataclasses import dataclass

from hardware.simulated.furnace import Furnace
from hardware.simulated.stand_in import StandIn
from supervisor.cycle import Memory
from supervisor.firing import commands as c
from supervisor.firing.profile import Profile
from supervisor.firing.states import HEATED, State
from supervisor.metal.charge import Charge

LOOK_S = 2.0  # before anything is done
LID_OPEN_S = 25.0  # to skim
CHARGES_S = 4.0  # before and after the metal is in
ROOM_C = 20.0

Cycle = Generator[list[c.Command], None, None]


@dataclass(slots=True)
class Person:
    """One rehearsal's person: acts on the furnace's levers and speaks through commands."""

    memory: Memory
    furnace: Furnace
    stand_in: StandIn
    profile: Profile
    heat_number: str | None
    said: int = 0
    skimmed: bool = False
    done: bool = False
    true_mass: float = 1.0  # what goes into the pot, over what is entered

    def act(self) -> Cycle:
        """The whole firing, from the empty page to the drained pot."""
        yield from self._wait(LOOK_S)
        yield [c.Prepare(self._by(), self.profile, self.heat_number)]
        yield from self._wait(LOOK_S)
        if self.profile.charge is not None:
            yield from self._charge(self.profile.charge)
        yield from self._until_allowed()
        yield [self._start()]
        while not self._over:
            run = self.memory.firing.run
            if run is not None and run.walk.waits_for == "your word" and self._there:
                yield from self._word()
            else:
                yield []
        if self.memory.firing.state is State.COMPLETE and self.profile.pour_c is not None:
            yield from self._pour()
        self.done = True
        while True:
            yield []

    @property
    def _there(self) -> bool:
        return self.stand_in.there(self.furnace.time_s)

    @property
    def _over(self) -> bool:
        run = self.memory.firing.run
        return run is not None and run.closed

    def _until_allowed(self) -> Cycle:
        """What is prepared is reckoned in some seconds."""
        while self.memory.firing.prepared_allowance_wh is None:
            yield []

    def _charge(self, charge: Charge) -> Cycle:
        """Under an open lid: its switch is seen to move, and the pot was seen to be empty."""
        self.furnace.lid(True)
        yield from self._wait(CHARGES_S)
        self.furnace.add_charge(charge.mass_kg * self.true_mass, ROOM_C, charge.alloy)
        yield from self._wait(CHARGES_S)
        self.furnace.lid(False)
        yield from self._wait(LOOK_S)

    def _word(self) -> Cycle:
        pour_c = self.profile.pour_c
        if pour_c is None or self.skimmed:
            yield [self._note(c.NoteKind.WORD)]
            yield from self._wait(LOOK_S)
        elif self.furnace.state.metal_coldest_c >= pour_c:  # the stand-in has dipped
            self.skimmed = True
            yield from self._skim()
        else:
            yield []

    def _skim(self) -> Cycle:
        yield [c.Hold(self._by())]
        yield from self._wait(LOOK_S)
        self.furnace.lid(True)
        yield from self._wait(LID_OPEN_S)
        yield [self._note(c.NoteKind.SKIM)]
        self.furnace.lid(False)
        yield [c.Resume(self._by(), self.memory.epoch)]
        yield from self._until_running()

    def _until_running(self) -> Cycle:
        """Ask again where the epoch moved on before the question was put."""
        waited_s = 0.0
        while self.memory.firing.state is not State.RUNNING and self.memory.firing.state in HEATED:
            waited_s += 0.25
            ask = waited_s % 20.0 == 0.0 and not self.memory.firing.asked_to_go_on
            yield [c.Resume(self._by(), self.memory.epoch)] if ask else []

    def _pour(self) -> Cycle:
        """Heat is off and the contactor proved open by now: the firing is complete."""
        yield from self._wait(LOOK_S)
        self.furnace.lid(True)
        yield from self._wait(10.0)
        self.furnace.pour()
        yield [self._note(c.NoteKind.POUR)]
        self.furnace.lid(False)
        yield from self._wait(LOOK_S)

    def _wait(self, seconds: float) -> Cycle:
        until_s = self.furnace.time_s + seconds
        while self.furnace.time_s < until_s:
            yield []

    def _start(self) -> c.Start:
        profile, allowance_wh = self.profile, self.memory.firing.prepared_allowance_wh
        assert allowance_wh is not None  # waited for
        return c.Start(
            self._by(),
            self.memory.epoch,
            profile.name,
            None if profile.charge is None else profile.charge.mass_kg,
            profile.top_c,
            profile.longest_s,
            allowance_wh,
            cautions_read=True,
            drained=True,
        )

    def _note(self, kind: c.NoteKind) -> c.Note:
        return c.Note(self._by(), kind, self.memory.epoch)

    def _by(self) -> c.By:
        self.said += 1
        return c.By(f"stand-in-{self.said}", "stand-in", "rehearsal")
