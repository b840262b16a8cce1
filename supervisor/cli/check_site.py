"""A furnace that `check` has to itself: opened, proved, written down, and closed again with everything off."""

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

import click

from hardware.board import read_board
from hardware.ports import UNKNOWN_BOARD, FurnaceHardware
from hardware.simulated.client import Bench, ConnectedFurnace
from supervisor.cli.check_going import Came, go_through
from supervisor.cli.check_held import halted, hold_in, killed
from supervisor.cli.check_person import Starter
from supervisor.cli.check_record import Record, writing
from supervisor.cli.check_rig import Failed, NotProved, Person, Rig
from supervisor.cli.check_steps import STEPS, Made, stated
from supervisor.cli.opening import as_watched, open_real, open_simulated
from supervisor.furnace import permit_times
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.stages import Standing, not_said
from supervisor.logbook.directory import open_directory


@dataclass(frozen=True)
class Site:
    """One furnace: on the pins of this Pi, or a simulated one behind its socket."""

    furnace: FurnaceDescription
    data: Path
    named: str  # as on the command line
    socket: Path | None

    def looking(self) -> FurnaceHardware:
        """The hardware without its outputs; whoever asks closes it."""
        return self._open(looking=True)

    def _open(self, *, looking: bool = False) -> FurnaceHardware:
        if self.socket is not None:
            return open_simulated(self.furnace, self.socket, looking=looking)
        return open_real(self.furnace, lambda: UNKNOWN_BOARD, working=self.data, looking=looking)

    @contextmanager
    def writing(self) -> Iterator[Record]:
        """The log of this furnace, open for writing: no supervisor can run meanwhile."""
        backend = "pi" if self.socket is None else "simulated"
        with open_directory(self.data, backend=backend, furnace=self.furnace.name) as kept:
            if self.socket is None:
                with writing(kept, self.furnace, clock_trusted=bool(read_board().clock_trusted)) as record:
                    yield record
                return
            simulated = open_simulated(self.furnace, self.socket)
            kept = as_watched(kept, simulated)
            now = kept.identity._replace(openings=kept.identity.openings + 1)

            def begun(furnace: ConnectedFurnace = simulated) -> None:
                furnace.remember(now.state)
                furnace.close()

            with writing(
                kept, self.furnace, clock_name=simulated.clock_name, clock_trusted=True, begun=begun
            ) as record:
                yield record

    def hold_in(self, starter: Starter) -> None:
        """What the holding program does, see `check_held`."""
        with closing(self._open()) as hardware:
            try:
                hold_in(Rig(hardware, self.furnace), starter, starter.say)
            except NotProved as error:
                starter.tell(str(error))

    def go(self, record: Record, person: Person, who: str, proof: str | None, *, again: bool) -> None:
        """Make one proof, or all cold ones that are missing or due."""

        def make(each: Standing) -> Came:
            return self._make(record, person, who, each)

        go_through(self.furnace, lambda: record.reached, proof, make, person.ready, again=again)

    def _make(self, record: Record, person: Person, who: str, each: Standing) -> Came:
        if not (each.kind.opens == 1 or each.kind.either):
            person.tell("A firing shows it, and writes it down by itself: nothing is done here.")
            return Came.NOT_PROVED
        try:
            made = self._step(each, person)
        except Failed as error:
            record.proof(each.name, "failed", str(error), who, witnessed=not each.kind.stated)
            person.tell(f"Failed: {error}.")
            return Came.FAILED
        except NotProved as error:
            record.proof(each.name, "undecided", str(error), who, witnessed=not each.kind.stated)
            person.tell(f"Not proved: {str(error).rstrip('.')}.")
            return Came.NOT_PROVED
        record.proof(each.name, "proved", made.evidence, who, witnessed=made.witnessed)
        if record.trouble is not None:
            raise click.ClickException(f"It was proved, but not written down. {record.trouble}")
        person.tell(f"{'Proved' if made.witnessed else f'Stated by {who}'}: {made.evidence}.")
        known = record.unlocking
        moved = permit_times.moved(
            permit_times.commissioned(known.proved, known.changed), permit_times.measured(made.evidence)
        )
        if moved:
            person.tell(moved)
        return Came.PROVED

    def _step(self, each: Standing, person: Person) -> Made:
        step = STEPS.get(each.name)
        if step is not None:
            with closing(self._open()) as hardware:
                return step(Rig(hardware, self.furnace), person)
        others: dict[str, Callable[[], Made]] = {
            "killed": lambda: killed(self._arguments, person, self.looking),
            "halted": lambda: halted(self._arguments, person),
            "permit-racing": lambda: self._racing(person),
        }
        if each.name in others:
            return others[each.name]()
        made = stated(each.name, person)
        why = not_said(each.name, made.evidence, self.furnace)
        if why:
            raise NotProved(why)
        return made

    @property
    def _arguments(self) -> list[str]:
        socket = [] if self.socket is None else ["--furnace-socket", str(self.socket)]
        return ["--furnace", self.named, "--data", str(self.data), *socket]

    def _racing(self, person: Person) -> Made:
        """A racing line, in a program of its own, with the key off."""
        person.tell("Turn the key off.")
        with closing(self.looking()) as hardware:
            if not Rig(hardware, self.furnace).at_rest_within(60.0):
                raise NotProved("within 60 s the key was not turned off, or a permit relay did not open")
        seen = self._race()
        person.tell("Turn the key on.")
        if seen["refused"]:
            raise NotProved(str(seen["refused"]).rstrip("."))
        closed = [f"{seen[name]:.1f} s" for name in ("opened_1_s", "opened_2_s") if seen[name] is not None]
        if not seen["passed"]:
            raise Failed(f"a permit relay held while the line raced, last seen closed after {' and '.join(closed)}")
        return Made(f"both relays open; last seen closed after {' and '.join(closed)}")

    def _race(self) -> dict[str, object]:
        if self.socket is not None:
            with closing(Bench(self.socket)) as bench:
                return bench.ask({"bench": "race_permit"})
        asked = json.dumps(self.furnace.wiring._asdict())
        ran = subprocess.run(
            [sys.executable, "-m", "hardware.fast_toggle"], input=asked, capture_output=True, text=True, check=False
        )
        try:
            return dict(json.loads(ran.stdout))
        except ValueError:
            return {"refused": ran.stderr.strip() or "the program that races the line gave no answer"}
