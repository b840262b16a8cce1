"""A loop with all it needs, on the simulated furnace, whose hardware and disk can be made to fail."""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from hardware.ports import FurnaceHardware, Outputs, Sample
from hardware.simulated.furnace import Furnace
from hardware.simulated.in_process import InProcess
from supervisor.cli.furnace import simulated_furnace
from supervisor.cycle import first_memory
from supervisor.firing.profile_file import profile_from_text
from supervisor.firing.states import State
from supervisor.furnace.file import read_furnace
from supervisor.link.server import LinkServer
from supervisor.logbook.records import EventRow, Record
from supervisor.logbook.scribe import Scribe
from supervisor.loop import Loop
from supervisor.notify import Notifier
from tests.supervisor.wire import Wire

WORKSHOP = read_furnace("workshop")
PROFILE = 'name = "Warm"\ntop_c = 300\n[[segment]]\nramp_to_c = 250\nrate_c_per_h = 2000\n'
ECHO = ("profile", "mass_kg", "top_c", "longest_s", "allowance_wh")
Script = Iterator[None]


class Breaking:
    """The simulated furnace, until it is told to break."""

    def __init__(self, inner: FurnaceHardware) -> None:
        self.inner = inner
        self.breaks_in_sample: Exception | None = None
        self.breaks_in_apply: Exception | None = None
        self.breaks_in_close: Exception | None = None
        self.real_s = 0.0

    @property
    def name(self) -> str:
        return self.inner.name

    def sample(self) -> Sample:
        if self.breaks_in_sample is not None:
            raise self.breaks_in_sample
        self.real_s += 0.25
        return self.inner.sample()

    def apply(self, outputs: Outputs) -> None:
        if self.breaks_in_apply is not None:
            raise self.breaks_in_apply
        self.inner.apply(outputs)

    def close(self) -> None:
        self.inner.close()
        if self.breaks_in_close is not None:
            raise self.breaks_in_close


class SlowDisk:
    """The scribe, whose disk can be put to sleep."""

    def __init__(self, inner: Scribe) -> None:
        self.inner = inner
        self.asleep = False
        self.broken: str | None = None
        self.kept: list[Record] = []
        self._committed = 0

    @property
    def committed(self) -> int:
        if not self.asleep:
            self._committed = self.inner.committed
        return self._committed

    @property
    def trouble(self) -> str | None:
        return self.broken or self.inner.trouble

    @property
    def free_mb(self) -> float | None:
        return self.inner.free_mb

    def put(self, records: Sequence[Record]) -> int:
        self.kept += records
        return self.inner.put(records)

    def clock(self, monotonic_s: float, utc_ms: int, quality: str) -> None:
        self.inner.clock(monotonic_s, utc_ms, quality)


class Stand:
    """A loop with all it needs. A turn is a quarter of a second of the furnace and of the real clock alike.

    on: makes the hardware of the simulated furnace. What is no simulated one has its proofs behind it.
    """

    def __init__(self, path: Path, scribe: Scribe, on: Callable[[Furnace], FurnaceHardware] = InProcess) -> None:
        self.data = path
        self.furnace = simulated_furnace("workshop", None, 1)
        self.hardware = Breaking(on(self.furnace))
        self.disk = SlowDisk(scribe)
        read = partial(profile_from_text, source_name="profile", furnace=WORKSHOP)
        self.server = LinkServer(path / "link.sock", read, lambda: self.hardware.real_s)
        began_s = self.hardware.sample().monotonic_s
        self.memory = first_memory(
            WORKSHOP,
            backend=self.hardware.name,
            monotonic_s=began_s,
            next_firing_id=1,
            left_open="A-001 was cut short.",
        )
        self.memory.firing.left_open = None
        self.memory.firing.unlocking.counted = False
        self.wire: Wire | None = None
        self.utc_s = 1_789_000_000.0
        self.notifier = Notifier(str(path / "notify"))

    def loop(self, **more: Any) -> Loop:
        return Loop(
            self.hardware,
            self.memory,
            self.disk,
            self.server,
            self.notifier,
            labels={"boot": "b", "version": "1"},
            now_s=lambda: self.hardware.real_s,
            now_utc_ms=lambda: round(self.utc_s * 1000),
            **more,
        )

    def run(self, script: Script, **more: Any) -> None:
        """Turn, with one step of the script before each turn; when it is over, end as a signal would."""

        self.loop(**more).run(lambda: next(script, "over") == "over")

    def ask(self, **message: Any) -> None:
        """Say a command, and wait until it lies before the loop."""
        if self.wire is None:
            self.wire = Wire(self.server.path)
        self.wire.say(id=f"{self.hardware.real_s}", **message)
        self.wire.settle()

    def answer(self) -> dict[str, Any]:
        """What the loop answered."""
        assert self.wire is not None
        return self.wire.hear()

    def outputs(self) -> dict[str, bool]:
        """The pins, as the furnace feels them."""
        return {name: bool(self.furnace.outputs[name]) for name in ("relay", "enable", "permit")}

    def fire(self) -> Script:
        """From stopped to running."""
        yield
        self.ask(command="prepare", profile_toml=PROFILE)
        yield
        assert self.answer()["answer"] == "accepted"
        assert self.wire is not None
        while (seen := self.wire.settle())["prepared"] is None:  # the link's thread may be a moment behind
            yield
        echo = {name: seen["prepared"][name] for name in ECHO}
        self.ask(command="start", epoch=seen["epoch"], cautions_read=True, **echo)
        yield
        assert self.answer()["answer"] == "accepted"
        while self.memory.firing.button.question is None:
            yield
        self.furnace.press(4.0)
        while self.memory.firing.state is not State.RUNNING:
            yield

    def events(self, kind: str) -> list[EventRow]:
        """What was put into the log under this kind."""
        return [row for row in self.disk.kept if isinstance(row, EventRow) and row.kind == kind]


ALL_OFF = {"relay": False, "enable": False, "permit": False}
