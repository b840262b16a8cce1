"""A rehearsal's rows are those of the loop at work: the same seed, the same words, the same presses, row for row.

The loop is the daemon's, on the simulated furnace in a process of its own, over its socket, at 60 times real while
nobody is asked: the furnace owns the clock and waits for its supervisor, so the pace changes no row.
"""

import sqlite3
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, closing, contextmanager, suppress
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple
from unittest.mock import patch

import pytest

import supervisor.cycle
import supervisor.rehearsal.rehearse
from hardware.clock import monotonic_s, sleep_s
from hardware.ports import CYCLE_S, Sample
from hardware.simulated.client import Bench, ConnectedFurnace, FurnaceGone
from hardware.simulated.plant import Workshop
from hardware.simulated.stand_in import PRESS_S, Levers, StandIn
from supervisor.cycle import Memory, Step, first_memory
from supervisor.firing.commands import Command
from supervisor.firing.profile import Profile
from supervisor.firing.profile_file import profile_from_text
from supervisor.furnace.file import read_furnace
from supervisor.link.connecting import Client
from supervisor.link.inbox import Reply, Ticket
from supervisor.link.server import LinkServer
from supervisor.logbook.database import FILE_NAME
from supervisor.logbook.directory import open_directory
from supervisor.logbook.records import Record
from supervisor.logbook.scribe import Scribe
from supervisor.loop import Loop
from supervisor.notify import Notifier
from supervisor.rehearsal.rehearse import BEGINS_UTC_MS, Wish, rehearse

FURNACE = read_furnace("workshop")
TEXT = 'name = "Warm"\ntop_c = 520\n[[segment]]\nramp_to_c = 500\nrate_c_per_h = 1200\n[[segment]]\nhold_min = 30\n'
SEED = 11
COMPARED_S = 600.0
TRIES = 5
REPOSITORY = Path(__file__).resolve().parents[2]
SAMPLES = "SELECT * FROM sample WHERE t_ms < ? ORDER BY id"
EVENTS = (  # which software runs is said where there may be an earlier run, and a rehearsal has none
    "SELECT firing_id, t_ms, kind, who, sent_from, detail FROM event WHERE t_ms < ? AND kind != 'software'"
    " ORDER BY rowid"
)


class Script(NamedTuple):
    """What was said and pressed in the rehearsal, by the furnace's clock."""

    commands: dict[float, Sequence[Command]]
    presses: set[float]


class LostPoint(Exception):
    """This machine was too slow: the furnace went on without its supervisor, as a furnace does."""


@pytest.mark.processes
def test_the_first_ten_minutes_are_the_same(tmp_path: Path) -> None:
    profile = profile_from_text(TEXT, "a test", FURNACE)
    rehearsed, worked = tmp_path / "rehearsed", tmp_path / "worked"
    script = _rehearse(profile, rehearsed)
    for number in range(TRIES):
        with suppress(LostPoint):
            _work(script, worked / str(number), tmp_path / f"{number}.sock")
            break
    else:
        pytest.fail(f"this machine lost a grid point in each of {TRIES} tries")
    worked /= str(number)
    samples = _rows(rehearsed, SAMPLES)
    assert len(samples) > COMPARED_S - 60  # once a second, from the start on
    assert samples[-1]["hot_junction_c"] > 100.0
    assert _rows(worked, SAMPLES) == samples
    events = _rows(rehearsed, EVENTS)
    assert {event["kind"] for event in events} >= {"state", "press", "question", "start test"}
    assert _rows(worked, EVENTS) == events


def _rehearse(profile: Profile, directory: Path) -> Script:
    script = Script({}, set())
    cycle, look = supervisor.cycle.cycle, StandIn.look

    def noted_cycle(memory: Memory, sample: Sample, commands: Sequence[Command], dt_s: float) -> Step:
        if commands:
            script.commands[sample.monotonic_s] = list(commands)
        return cycle(memory, sample, commands, dt_s)

    def noted_look(stand_in: StandIn, levers: Levers, *, lamp: bool, now_s: float) -> bool:
        pressed = look(stand_in, levers, lamp=lamp, now_s=now_s)
        if pressed:
            script.presses.add(now_s)
        return pressed

    with (
        patch.object(supervisor.rehearsal.rehearse, "cycle", noted_cycle),
        patch.object(StandIn, "look", noted_look),
    ):
        rehearse(Wish(profile, FURNACE, Workshop, seed=SEED, at_most_s=COMPARED_S + 60.0), directory)
    assert script.commands
    assert script.presses
    return script


class _Scripted(LinkServer):
    """The link, with the script's commands in place of what would come over its socket."""

    def __init__(self, path: Path, script: Script, now: list[float]) -> None:
        super().__init__(path, partial(profile_from_text, source_name="profile", furnace=FURNACE))
        self._script, self._now = script, now

    def take(self) -> list[Ticket[Client]]:
        commands = self._script.commands.get(self._now[0], ())
        return [Ticket(command, Reply[Client]([])) for command in commands]


class _Following:
    """The furnace at the other end, its grid points followed."""

    def __init__(self, inner: ConnectedFurnace, now: list[float]) -> None:
        self._inner, self._now = inner, now
        self.name, self.apply, self.close = inner.name, inner.apply, inner.close

    def sample(self) -> Sample:
        sample = self._inner.sample()
        if sample.monotonic_s != self._now[0] + CYCLE_S:
            raise LostPoint
        self._now[0] = sample.monotonic_s
        return sample


class _Pressing:
    """The scribe; after its turn the script's presses are made, as the stand-in of a rehearsal makes them."""

    def __init__(self, inner: Scribe, bench: Bench, presses: set[float], now: list[float]) -> None:
        self._inner, self._bench, self._presses, self._now = inner, bench, presses, now
        self.clock = inner.clock

    @property
    def committed(self) -> int:
        return self._inner.committed

    @property
    def free_mb(self) -> float | None:
        return None

    @property
    def trouble(self) -> str | None:
        return self._inner.trouble

    def put(self, records: Sequence[Record]) -> int:
        ticket = self._inner.put(records)
        if self._now[0] in self._presses:
            self._presses = self._presses - {self._now[0]}
            assert self._bench.ask({"bench": "press", "seconds": PRESS_S})["ok"]
        return ticket


def _work(script: Script, directory: Path, socket_path: Path) -> None:
    """The daemon's parts put together as it does, up to the last compared second."""
    now = [0.0]
    with ExitStack() as parts:
        data = parts.enter_context(open_directory(directory, backend="simulated", furnace=FURNACE.name))
        # Written inline: how soon the disk answers is not what is compared.
        scribe = parts.enter_context(
            Scribe(data, boot_id="work", utc_ms=lambda: BEGINS_UTC_MS + round(now[0] * 1000), threaded=False)
        )
        link = parts.enter_context(closing(_Scripted(directory / "link.sock", script, now)))
        notifier = parts.enter_context(closing(Notifier()))
        bench = parts.enter_context(_furnace(socket_path))
        inner = parts.enter_context(closing(ConnectedFurnace(socket_path, FURNACE.wiring)))
        memory = first_memory(FURNACE, backend=inner.name, monotonic_s=0.0, next_firing_id=1, left_open=None)
        pressing = _Pressing(scribe, bench, script.presses, now)
        loop = Loop(_Following(inner, now), memory, pressing, link, notifier, labels={})
        loop.run(lambda: now[0] > COMPARED_S + 30.0)


@contextmanager
def _furnace(socket_path: Path) -> Iterator[Bench]:
    """The furnace's process, and somebody at its bench as soon as it listens: its clock starts with it."""
    command = [sys.executable, "-m", "supervisor.cli", "furnace", "simulate", "--socket", str(socket_path)]
    command += ["--furnace", FURNACE.name, "--seed", str(SEED), "--times-real", "60"]
    with subprocess.Popen(command, cwd=REPOSITORY) as process:
        try:
            with closing(_bench(socket_path)) as bench:
                yield bench
        finally:
            process.terminate()


def _bench(socket_path: Path) -> Bench:
    until_s = monotonic_s() + 30.0
    while True:
        try:
            return Bench(socket_path)
        except FurnaceGone:
            if monotonic_s() > until_s:
                raise
        sleep_s(0.005)


def _rows(directory: Path, query: str) -> list[dict[str, Any]]:
    with closing(sqlite3.connect(directory / FILE_NAME)) as log:
        log.row_factory = sqlite3.Row
        return [dict(row) for row in log.execute(query, (COMPARED_S * 1000,))]
