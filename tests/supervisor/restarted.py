"""A furnace at hand whose supervisor keeps a real log and can be killed: what is begun next begins on that log."""

import shutil
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import Any, Self

from hardware.lines import OUTPUT_LINES
from hardware.ports import CYCLE_S, BoardHealth, Plant, Sample
from hardware.simulated.furnace import Furnace
from hardware.simulated.in_process import InProcess
from hardware.simulated.plant import Bench
from supervisor.begin import begin
from supervisor.firing import commands as c
from supervisor.firing.presses import Asked
from supervisor.firing.states import State
from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook import aftermath
from supervisor.logbook.directory import open_directory
from supervisor.logbook.earlier import Earlier
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import Record
from supervisor.logbook.scribe import BATCH_MS, Scribe
from supervisor.model.cooling import SlowestCooling, slowest_cooling
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake

BEGAN_UTC_MS = 1_789_000_000_000
SLOWEST: dict[str, SlowestCooling] = {}


class Kept(FurnaceAtHand):
    """The furnace outlives every supervisor. Its clock is the machine's monotonic clock, as long as that runs."""

    def __init__(
        self,
        data: Path,
        *,
        plant: Callable[..., Plant] = Bench,
        described: FurnaceDescription = BENCH,
        start_c: float = 20.0,
        seed: int = 1,
    ) -> None:
        self.data, self.description = data, described
        furnace = Furnace(
            plant(seed=seed, spread=0.0, start_c=start_c),
            self.description.wiring,
            seed=seed,
            limiter_c=self.description.limiter_c,
            pulses_per_kwh=1000,
        )
        self.boot, self.boots = "boot-1", 1
        self.skipped_s = 0.0  # that the furnace's own clock knows nothing of
        self.clock_off_s = 0.0  # what its clock is told to be wrong by
        self.monotonic_off_s = 0.0  # the machine's clock began anew so long after the furnace's
        self.trusted = True
        self.backend = "simulated"
        self.restarts, self.too_often = 0, False
        self.software: str | None = None
        self._parts = ExitStack()
        self._scribe: Scribe | None = None
        self.earlier: Earlier | None = None
        self._to_do_after_reset = False
        hardware = InProcess(furnace)
        super().__init__(furnace, hardware, None)  # type: ignore[arg-type]
        self.begin()

    def utc_ms(self) -> int:
        """What the machine's clock says."""
        return round(BEGAN_UTC_MS + (self.furnace.time_s + self.skipped_s + self.clock_off_s) * 1000)

    def begin(self, data: Path | None = None) -> Self:
        """A supervisor begins on a log."""
        self.data = data or self.data
        for line in OUTPUT_LINES:  # as opening a real pin does
            self.furnace.set_output(line, False)
        self.hardware = InProcess(self.furnace)
        self._permit_pin, self._shown_epoch = False, 0
        directory = self._parts.enter_context(
            open_directory(self.data, backend="simulated", furnace=self.description.name)
        )
        self._scribe = self._parts.enter_context(
            Scribe(directory, boot_id=self.boot, utc_ms=self.utc_ms, threaded=False)
        )
        self._scribe._batch_ms = BATCH_MS  # as on a real clock
        if self.description.name not in SLOWEST:
            SLOWEST[self.description.name] = slowest_cooling(self.description, None)
        with open_log(self.data) as log:
            begun = begin(
                log,
                self.description,
                self._sample(),
                backend=self.backend,
                boot_id=self.boot,
                utc_ms=self.utc_ms(),
                restarts=self.restarts,
                too_often=self.too_often,
                slowest=SLOWEST[self.description.name],
                software=self.software,
            )
        self.memory, self.earlier = begun.memory, begun.earlier
        self._to_do_after_reset = self.memory.firing.left_open is not None
        self._scribe.put(begun.records)
        quality = "network" if self.trusted else "unset"
        self._scribe.clock(self.memory.belief.monotonic_s, self.utc_ms(), quality)
        return self

    def _sample(self) -> Sample:
        sample = self.hardware.sample()
        board = BoardHealth(*sample.board)._replace(clock_trusted=self.trusted)
        return sample._replace(monotonic_s=sample.monotonic_s - self.monotonic_off_s, board=board)

    def turn(self, *commands: c.Command, sample: Sample | None = None) -> list[c.Answer]:
        before = len(self.records)
        answers = super().turn(*commands, sample=sample or self._sample())
        assert self._scribe is not None
        self._scribe.put(self.records[before:])
        if self._to_do_after_reset and self.memory.firing.left_open is None:
            assert self.earlier is not None
            self._scribe.put(aftermath.after_reset(self.earlier, round(self.now_s * 1000)))
            self._to_do_after_reset = False
        return answers

    def log_row(self, row: Record) -> None:
        """Write one row as an earlier run might have."""
        assert self._scribe is not None
        self._scribe.put([row])

    # -- trouble -----------------------------------------------------------------------------------------------------

    def kill(self) -> None:
        """The program is gone at once: what waited for its batch is lost, and the pins stay as they are."""
        assert self._scribe is not None
        self._scribe._taken = []
        self._parts.close()

    def pass_without(self, seconds: float) -> None:
        """Time passes with nobody watching."""
        for _ in range(round(seconds / CYCLE_S)):
            self.furnace.step()

    def pass_quickly(self, seconds: float, *, lid_open: bool = False) -> None:
        """The same for hours, with everything off: the plant alone goes on, in longer steps."""
        left_s = seconds
        while left_s > 0.0:
            step_s = min(2.0, left_s)
            self.furnace.plant.step(step_s, element_on=False, lid_open=lid_open, mains_factor=1.0)
            left_s -= step_s
        self.skipped_s += seconds
        self.monotonic_off_s -= seconds

    def cut_power(self, seconds: float) -> None:
        """The mains go, and the computer with them. It comes back with a clock of its own."""
        self.kill()
        self.furnace.mains(False)
        for line in OUTPUT_LINES:
            self.furnace.set_output(line, False)
        self.pass_without(seconds)
        self.furnace.mains(True)
        self.reboot()

    def reboot(self) -> None:
        """The machine's clock begins anew, 5 s ago."""
        self.boots += 1
        self.boot, self.monotonic_off_s = f"boot-{self.boots}", self.furnace.time_s - 5.0

    def restart(self) -> None:
        """Killed, and begun again a second later."""
        self.kill()
        self.pass_without(1.0)
        self.begin()

    def copy(self, to: Path) -> Path:
        """A copy of the log as it stands on disk now."""
        shutil.copytree(self.data, to)
        return to

    def close(self) -> None:
        self._parts.close()

    # -- what is seen ------------------------------------------------------------------------------------------------

    def unmet(self) -> list[str]:
        """Names of the conditions that a start lacks now."""
        return [row["name"] for row in self.shown()["permissives"] if not row["met"]]

    def refused_start(self, profile: Any) -> str:
        """Prepare and ask for a start; why it is refused."""
        self.wait(1.0)
        self.memory.firing.cold_checked = True  # not what this is about
        if self.state is not State.ABORTED:
            self.prepare(profile)
        answer = (
            self.send(self.start_command())
            if self.memory.firing.prepared
            else self.send(c.Prepare(self.by(), profile, None))
        )
        assert not answer.accepted
        return answer.sentence


def tripped(kept: Kept) -> Kept:
    """An emergency stop in a firing; killed in the very cycle that saw it."""
    kept.start(bake())
    kept.furnace.emergency_stop(True)
    kept.run_until(lambda: "emergency-stop" in kept.alarms(), 2.0)
    kept.kill()
    kept.furnace.emergency_stop(False)
    kept.pass_without(3.0)
    return kept


def looked_at(kept: Kept) -> None:
    """Somebody says what was found, and holds the button."""
    assert kept.send(c.Reset(kept.by(), "the button was hit by mistake")).accepted
    kept.run_until(lambda: kept.asked is Asked.RESET, 5.0)
    kept.hold_button()
