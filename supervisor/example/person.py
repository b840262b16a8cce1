"""Who stands at the example's furnace: the rehearsal's stand-in, who also does what the story of a melt tells."""

from collections.abc import Generator
from dataclasses import dataclass, field

from supervisor.example.shop import Play
from supervisor.firing import commands as c
from supervisor.firing.states import State
from supervisor.metal.charge import Planned
from supervisor.rehearsal.person import CHARGES_S, LID_OPEN_S, LOOK_S, ROOM_C, Person

Cycle = Generator[list[c.Command], None, None]

OVER_LIQUIDUS_K = 12.0
"""Chips go in as soon as all is liquid: later there is only more to lose."""

STILL_SOLID_K = 15.0
"""What hangs is so far below its solidus when it lets go."""

LOWER_K = 15.0

FOUND = "The thermocouple's wire was burnt through at the head; a new one is in."


@dataclass(slots=True)
class Player(Person):
    """One melt's person."""

    play: Play = field(default_factory=Play)
    planned: Planned | None = None
    plant_alloy: str = "6082"
    added: bool = False
    fell: bool = False
    ready_s: float | None = None  # all fit to be poured, for the first time
    ended_s: float = 0.0  # the heat was over
    poured_s: float | None = None

    def act(self) -> Cycle:
        """The whole firing, from the empty page to the drained pot."""
        yield from self._wait(LOOK_S)
        yield [c.Prepare(self._by(), self.profile, self.heat_number, self.planned)]
        yield from self._wait(LOOK_S)
        yield from self._fill()
        yield from self._until_allowed()
        yield [self._start()]
        while not self._over:
            run = self.memory.firing.run
            if run is not None and run.walk.waits_for == "your word":
                yield from self._word()
            else:
                yield []
        self.ended_s = self.furnace.time_s
        if self.memory.firing.state is State.COMPLETE:
            yield from self._pour()
            self.poured_s = self.furnace.time_s
        else:
            yield from self._after_a_trip()
        self.done = True
        while True:
            yield []

    def _fill(self) -> Cycle:
        """Under an open lid, also where the charge is in the pot already: the lid's switch is seen to move."""
        assert self.profile.charge is not None
        self.furnace.lid(True)
        yield from self._wait(CHARGES_S)
        if not self.play.in_the_pot:
            kg = self.profile.charge.mass_kg - self.play.hung_kg
            self.furnace.add_charge(kg, ROOM_C, self.plant_alloy)
        yield from self._wait(CHARGES_S)
        self.furnace.lid(False)
        yield from self._wait(LOOK_S)

    def _word(self) -> Cycle:
        charge, coldest_c = self.profile.charge, self.furnace.state.metal_coldest_c
        assert charge is not None
        assert self.profile.pour_c is not None
        if self.play.added_kg and not self.added:
            if coldest_c >= (charge.liquidus_c or 660.0) + OVER_LIQUIDUS_K:
                yield from self._add()
            else:
                yield []
        elif self.skimmed or coldest_c < self.profile.pour_c:
            yield from Person._word(self)
        elif self.ready_s is None:
            self.ready_s = self.furnace.time_s
            for text in self.play.said:
                yield [self._note(c.NoteKind.REMARK, text=text)]
            if self.play.hung_kg:
                yield [c.Lower(self._by(), LOWER_K)]
        elif self.play.hung_kg and not self.fell:
            yield from self._let_go(charge.solidus_c)
        elif self.furnace.time_s < self.ready_s + 60.0 * self.play.waits_min:
            yield []
        else:
            yield from Person._word(self)

    def _let_go(self, solidus_c: float | None) -> Cycle:
        assert self.ready_s is not None
        if self.furnace.time_s >= self.ready_s + 60.0 * self.play.falls_min:
            self.fell = True
            self.furnace.add_charge(self.play.hung_kg, (solidus_c or 560.0) - STILL_SOLID_K, self.plant_alloy)
        yield []

    def _add(self) -> Cycle:
        """Heat off, lid open, chips under the liquid, lid shut, on again by a press."""
        yield [c.Hold(self._by())]
        yield from self._wait(LOOK_S)
        self.furnace.lid(True)
        yield from self._wait(LID_OPEN_S)
        self.furnace.add_charge(self.play.added_kg, ROOM_C, self.plant_alloy)
        yield [self._note(c.NoteKind.ADDITION, mass_kg=self.play.added_kg, text="chips, under the liquid")]
        yield from self._wait(CHARGES_S)
        self.furnace.lid(False)
        self.added = True
        yield [c.Resume(self._by(), self.memory.epoch)]
        yield from self._until_running()

    def _skim(self) -> Cycle:
        """A dip with the second probe first: it says whether the estimate was true."""
        dipped_c = round(self.furnace.state.metal_mean_c)
        yield [self._note(c.NoteKind.DIP, temperature_c=float(dipped_c))]
        yield from Person._skim(self)

    def _after_a_trip(self) -> Cycle:
        """Look, mend, and reset what tripped, by the held press."""
        yield from self._wait(90.0)
        for fault in tuple(self.furnace.injected):
            self.furnace.mend(fault)
        yield from self._wait(30.0)
        for _ in range(5):
            yield [
                c.Reset(self._by(), "The thermocouple's wire was burnt through; a new one is in.", "the owner", "solid")
            ]
            yield from self._wait(60.0)
            if not self.memory.alarms.standing:
                return

    def _note(
        self, kind: c.NoteKind, mass_kg: float | None = None, temperature_c: float | None = None, text: str = ""
    ) -> c.Note:
        return c.Note(self._by(), kind, self.memory.epoch, mass_kg, temperature_c, text)

    def _by(self) -> c.By:
        self.said += 1
        return c.By(f"example-{self.said}", "the owner", "example")
