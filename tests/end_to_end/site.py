"""A furnace and its supervisor as processes of their own, as `run` and systemd start them: to be killed and stalled.

What became of the contactor is read from the furnace's own record of edges, never from the supervisor.
"""

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, NamedTuple, Self

from hardware.clock import monotonic_s
from hardware.simulated.client import Bench, FurnaceGone
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent
from supervisor.logbook.reading import open_log
from tests.end_to_end.held_up import HeldUp, Tripped
from tests.end_to_end.waiting import until

REPOSITORY = Path(__file__).resolve().parents[2]
PROFILE = """
name = "Warm the empty furnace"
top_c = 300

[[segment]]
ramp_to_c = 250
rate_c_per_h = {rate_c_per_h}

[[segment]]
hold_min = 30
"""
PROGRAM = (sys.executable, "-m", "supervisor.cli")
ECHO = ("profile", "mass_kg", "top_c", "longest_s", "allowance_wh")
SENDER = {"who": "a test", "where": "test"}


class Edge(NamedTuple):
    """One row of the furnace's record."""

    number: int
    time_s: float  # the furnace's clock
    line: str
    level: bool
    real_s: float  # the machine's monotonic clock


def _first_cause(snapshot: dict[str, Any]) -> str | None:
    return None if snapshot["firing"] is None else snapshot["firing"]["first_cause"]


class Site:
    """One furnace with its data directory. Use it in a with statement: it ends what it began."""

    def __init__(self, directory: Path, *, seed: int = 1, times_real: float = 1.0, rate_c_per_h: float = 400.0) -> None:
        self.data = directory / "data"
        self.socket = directory / "furnace.sock"
        self.link = Link(self.data / SOCKET_NAME)
        self._record = directory / "edges"
        self._log = (directory / "output").open("ab")
        self._profile = PROFILE.format(rate_c_per_h=rate_c_per_h)
        self._seed, self._times_real = seed, times_real
        self.supervisor: Sequence[str] = PROGRAM
        self.furnace: subprocess.Popen[bytes] | None = None
        self.daemon: subprocess.Popen[bytes] | None = None
        self._setting_up = False

    def __enter__(self) -> Self:
        pace, seed = str(self._times_real), str(self._seed)
        self.furnace = self.command(
            "furnace", "simulate", "--socket", str(self.socket), "--times-real", pace, "--seed", seed,
            "--record", str(self._record),
        )  # fmt: skip
        until("the simulated furnace answers", self._furnace_answers)
        return self

    def __exit__(self, *_: object) -> None:
        for process in (self.daemon, self.furnace):
            if process is not None and process.poll() is None:
                process.send_signal(signal.SIGCONT)
                process.terminate()
                try:
                    process.wait(15)
                except subprocess.TimeoutExpired:
                    process.kill()
                    process.wait()
        self._log.close()

    def command(self, *arguments: str, program: Sequence[str] = PROGRAM) -> subprocess.Popen[bytes]:
        """Start a command of the program."""
        return subprocess.Popen([*program, *arguments], cwd=REPOSITORY, stdout=self._log, stderr=self._log)

    def said(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        """Run a command to its end."""
        return subprocess.run(
            [*PROGRAM, *arguments], cwd=REPOSITORY, capture_output=True, text=True, timeout=60, check=False
        )

    # -- the supervisor ----------------------------------------------------------------------------------------------

    def start(self, *words: str) -> None:
        """Start the supervisor and wait until it turns."""
        told = ("--data", str(self.data), "--furnace-socket", str(self.socket), *words)
        self.daemon = self.command("daemon", *told, program=self.supervisor)
        self.until("the supervisor answers", lambda: self.snapshot() is not None, within_s=120.0)

    def signal(self, number: signal.Signals) -> float:
        """Send the supervisor a signal; the moment, on the machine's monotonic clock."""
        assert self.daemon is not None
        os.kill(self.daemon.pid, number)
        return monotonic_s()

    def kill(self) -> float:
        """Kill the supervisor, and take its body away; the moment."""
        killed_s = self.signal(signal.SIGKILL)
        assert self.daemon is not None
        self.daemon.wait()
        return killed_s

    def snapshot(self) -> dict[str, Any] | None:
        """What the supervisor says; None when it does not."""
        with suppress(LinkSilent):
            return self.link.snapshot()
        return None

    def state(self) -> str | None:
        """The state of the firing."""
        snapshot = self.snapshot()
        return None if snapshot is None else str(snapshot["state"])

    def refused(self, **message: Any) -> str | None:
        """Send a command; the reason why it was refused, or None when it was not."""
        answer = self.link.send({**SENDER, **message})
        return None if answer.accepted else answer.sentence

    def send(self, **message: Any) -> str:
        """Send a command that must be accepted; its sentence."""
        answer = self.link.send({**SENDER, **message})
        assert answer.accepted, f"{answer.sentence} {self.says()}"
        return answer.sentence

    def says(self) -> str:
        """What the supervisor says of itself now: for whoever reads why a test failed."""
        snapshot = self.snapshot()
        if snapshot is None:
            return "The supervisor does not answer."
        headline = " ".join(snapshot["headline"][part] for part in ("before", "key", "after"))
        alarms = ", ".join(f"{row['watch']} ({row['evidence']})" for row in snapshot["alarms"]) or "no alarm"
        cause = _first_cause(snapshot) or "none"
        return f"The supervisor is {snapshot['state']}, first cause {cause}: {headline} Alarms: {alarms}."

    def until(self, what: str, happened: Callable[[], bool], *, within_s: float = 60.0) -> None:
        """Wait for something that has to happen.

        Raises:
            TimeoutError: it did not; with what the supervisor says.
            Tripped: the supervisor tripped while all of this was only set up.
        """

        def at_last() -> bool:
            if happened():
                return True
            if self._setting_up:
                self._refuse_a_trip()
            return False

        try:
            until(what, at_last, within_s=within_s)
        except TimeoutError as late:
            raise TimeoutError(f"{late}. {self.says()}") from late

    @contextmanager
    def setting_up(self) -> Iterator[None]:
        """While something is set up, a trip ends it at once.

        Raises:
            HeldUp: the supervisor tripped as it was held up.
            Tripped: it tripped for another cause.
        """
        within, self._setting_up = self._setting_up, True
        try:
            yield
        except (TimeoutError, AssertionError):
            self._refuse_a_trip()  # it says more than what became of it
            raise
        finally:
            self._setting_up = within
        self._refuse_a_trip()

    def _refuse_a_trip(self) -> None:
        snapshot = self.snapshot()
        if snapshot is not None and snapshot["state"] in ("aborting", "aborted"):
            kind = HeldUp if _first_cause(snapshot) == "loop-late" else Tripped
            raise kind(f"tripped before anything was tried. {self.says()}")

    # -- a firing ----------------------------------------------------------------------------------------------------

    def prepare(self) -> None:
        """Choose the profile."""
        self.send(command="prepare", profile_toml=self._profile)

    def start_message(self) -> dict[str, Any]:
        """Step one of a start, as a page would send it now."""
        snapshot = self.link.snapshot()
        echo = {name: snapshot["prepared"][name] for name in ECHO}
        return {"command": "start", "epoch": snapshot["epoch"], "cautions_read": True, **echo}

    def ask_to_start(self) -> None:
        """Step one of a start, as soon as it is allowed: a supervisor that has just begun looks at the sensor first."""
        try:
            self.until("a start is allowed", lambda: self.allows("start"))
        except TimeoutError as late:
            raise TimeoutError(f"{late}: {self._against_a_start()}") from late
        self.send(**self.start_message())

    def _against_a_start(self) -> str:
        snapshot = self.snapshot()
        if snapshot is None:
            return "the supervisor does not answer"
        why = [row["why"] for row in snapshot["commands"] if row["name"] == "start"]
        unmet = [f"{row['name']}: {row['reason']}" for row in snapshot["permissives"] if not row["met"]]
        return f"{snapshot['state']}; {why}; {unmet}"

    def allows(self, command: str) -> bool:
        """Whether the snapshot offers a command now."""
        snapshot = self.snapshot()
        return snapshot is not None and any(row["allowed"] for row in snapshot["commands"] if row["name"] == command)

    def wait_for_question(self) -> None:
        """Until the furnace asks for the button."""
        self.until("the question", lambda: (self.snapshot() or {}).get("question") is not None)

    def press(self, seconds: float) -> None:
        """Press the button at the furnace."""
        self.bench(bench="press", seconds=seconds)

    def let_pass(self, seconds: float) -> None:
        """Until the furnace's clock has gone on by so much."""
        end_s = self.furnace_s() + seconds
        self.until(f"{seconds:g} s of the furnace", lambda: self.furnace_s() >= end_s)

    def wait_for(self, *states: str) -> None:
        """Until the firing is in one of these states."""
        self.until(" or ".join(states), lambda: self.state() in states)

    def fire(self) -> None:
        """From stopped to running."""
        self.prepare()
        self.begin()

    def begin(self) -> None:
        """From prepared to running."""
        with self.setting_up():
            self.ask_to_start()
            self.wait_for_question()
            self.press(4.0)
            self.wait_for("running")

    def firings(self) -> list[str]:
        """How the firings of the log ended, newest first."""
        with open_log(self.data) as log:
            return [firing.state for firing in log.firings()]

    # -- the furnace's own word --------------------------------------------------------------------------------------

    def bench(self, **message: Any) -> dict[str, Any]:
        """Say something to the furnace's bench."""
        bench = Bench(self.socket)
        try:
            answer = bench.ask(message)
        finally:
            bench.close()
        assert answer["ok"], answer
        return answer

    def furnace_s(self) -> float:
        """The furnace's own clock."""
        return float(self.bench(bench="state")["time_s"])

    def edges(self, line: str) -> list[Edge]:
        """Every change of a line so far, oldest first."""
        edges, since = list[Edge](), 0
        while True:
            answer = self.bench(bench="edges", since=since)
            if not answer["edges"]:
                return edges
            edges += [edge for row in answer["edges"] if (edge := Edge(*row)).line == line]
            since = answer["next"]

    def level(self, line: str) -> bool:
        """The level of a line now, as the record has it."""
        edges = self.edges(line)
        return bool(edges) and edges[-1].level

    def _furnace_answers(self) -> bool:
        with suppress(FurnaceGone):
            Bench(self.socket).close()
            return True
        return False
