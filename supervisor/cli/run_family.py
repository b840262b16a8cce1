"""The processes that `meltkeeper run` begins, looks after and ends: furnace, supervisor, pages, messenger."""

import socket
import subprocess
import sys
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import click

from hardware.clock import monotonic_s, sleep_s, utc_ms
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent
from supervisor.orphan import end_with_parent

LOOPBACK, EVERYWHERE = "127.0.0.1", "0.0.0.0"
READY_WITHIN_S = 30.0
ENDS_WITHIN_S = 15.0
LOOKS_EVERY_S = 0.1
MOST_RESTARTS_A_MINUTE = 5
TOLD_WITHIN_S = 20.0
"""A silent supervisor is announced after 10 s, and a message takes 10 s at most."""
RESTS_S = 60.0
"""What is not needed for the furnace and fails too often is tried again after so long."""


@dataclass(slots=True)
class Part:
    """One of the processes."""

    name: str
    arguments: tuple[str, ...]
    needed: bool = True  # without it everything is ended; another one is tried again for ever
    waits: bool = False  # before it writes anything, until `go_on`
    process: subprocess.Popen[bytes] | None = None
    waits_until_s: float | None = None  # it failed too often, and is given a rest
    restarts: deque[float] = field(default_factory=deque)

    def start(self) -> None:
        """In a session of its own: Ctrl-C is for the parent, which ends them in order."""
        self.process = subprocess.Popen(
            [sys.executable, "-m", "supervisor.cli", *self.arguments],
            stdin=subprocess.PIPE if self.waits else subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,  # what a person needs is said by the parent
            start_new_session=True,
            preexec_fn=end_with_parent,
        )

    @property
    def code(self) -> int | None:
        """Exit status; None while it runs."""
        return None if self.process is None else self.process.poll()

    def go_on(self) -> None:
        """Let it write, which it waited for: its standard input ends."""
        if self.process is not None and self.process.stdin is not None:
            self.process.stdin.close()

    def end(self) -> None:
        """Ask, wait, and insist."""
        if self.process is None or self.process.poll() is not None:
            return
        self.process.terminate()
        try:
            self.process.wait(ENDS_WITHIN_S)
        except subprocess.TimeoutExpired:
            click.echo(f"The {self.name} does not end; it is killed.", err=True)
            self.process.kill()
            self.process.wait()

    def rests(self) -> bool:
        """Whether it is not to be started yet."""
        return self.waits_until_s is not None and monotonic_s() < self.waits_until_s

    def may_restart(self) -> bool:
        """Whether it has not failed too often of late."""
        now_s = monotonic_s()
        self.restarts.append(now_s)
        while self.restarts[0] < now_s - 60.0:
            self.restarts.popleft()
        return len(self.restarts) <= MOST_RESTARTS_A_MINUTE


class Family:
    """Furnace, supervisor, page, messenger, begun in this order; the supervisor ends first, and switches off."""

    def __init__(
        self, data: Path, furnace: str, plant: str | None, times_real: float, host: str, port: int, *, stage: str
    ) -> None:
        self._data, self._host, self._port = data, host, port
        bench = str(data / "furnace.sock")
        pace = f"{times_real:g}"
        physics = ("--plant", plant) if plant else ()
        self._furnace = Part(
            "simulated furnace",
            ("furnace", "simulate", "--socket", bench, "--furnace", furnace, "--times-real", pace, *physics),
        )
        at = ("--furnace-socket", bench, "--from-stage", stage)
        self._daemon = Part("supervisor", ("daemon", "--furnace", furnace, "--data", str(data), *at))
        self._web = Part(
            "page",
            ("web", "--data", str(data), "--host", host, "--port", str(port), "--bench", bench, "--no-code"),
        )
        self._messenger = Part("messenger", ("messenger", "--data", str(data)), needed=False)
        self._bench = Path(bench)
        self.failed = False

    def fill(self, asked: list[int]) -> None:
        """Make the example behind its page; the furnace comes up when its log is free.

        Raises:
            click.ClickException: a part did not come up.
        """
        began_s = monotonic_s()
        filler = Part("maker of the example", ("example", "--data", str(self._data), "--begun"), waits=True)
        try:
            self._web.start()
            filler.start()  # the page and the pairing code have the book to themselves until they are up
            self._wait(self._web, lambda: _answers(self._host, self._port), asked)
            self._announce()
            click.echo("The melts of the example are being made; they come up under Melts. The furnace follows.")
            filler.go_on()
            while not asked and filler.code is None:
                sleep_s(LOOKS_EVERY_S)
        finally:
            filler.end()
        how = f"is whole, after {monotonic_s() - began_s:.0f} s" if filler.code == 0 else "was cut short"
        click.echo(f"The example {how}.")

    def begin(self, asked: list[int]) -> None:
        """Start everything, and say where it is.

        Raises:
            click.ClickException: a part did not come up.
        """
        announced = self._web.process is not None
        for part in (self._furnace, self._daemon, self._web, self._messenger):  # each waits for the one before
            if part.process is None and not asked:
                part.start()
        self._wait(self._furnace, lambda: _listens(self._bench), asked)
        self._wait(self._daemon, self._supervised, asked)
        self._wait(self._web, lambda: _answers(self._host, self._port), asked)
        if not asked and not announced:
            self._announce()

    def look_after(self) -> bool:
        """Restart what may be restarted; false when it cannot go on."""
        for part in (self._furnace, self._daemon, self._web, self._messenger):
            code = part.code
            if code is None or part.rests():
                continue
            how = f"was killed by signal {-code}" if code < 0 else f"ended with status {code}"
            may = part is not self._furnace and part.may_restart()
            if not may and not part.needed:
                part.waits_until_s = monotonic_s() + RESTS_S
                click.echo(f"The {part.name} {how}, again. Nobody outside is told until it runs.", err=True)
                continue
            if not may:
                self.failed = True
                click.echo(f"The {part.name} {how}. Everything is ended.", err=True)
                return False
            what = (
                "It starts again, stopped: no heat without a new start." if part is self._daemon else "It starts again."
            )
            click.echo(f"The {part.name} {how}. {what}", err=True)
            part.start()
        return True

    def tell(self, asked: list[int]) -> None:
        """The supervisor cannot be kept up: page and messenger stay for as long as it takes to say so."""
        self._daemon.end()
        until_s = monotonic_s() + TOLD_WITHIN_S
        while not asked and monotonic_s() < until_s:
            sleep_s(LOOKS_EVERY_S)

    def end(self) -> None:
        """Supervisor first, which switches the heat off; then the rest."""
        for part in (self._daemon, self._messenger, self._web, self._furnace):
            part.end()
        click.echo("Ended.")

    def _wait(self, part: Part, is_ready: Callable[[], bool], asked: list[int]) -> None:
        until_s = monotonic_s() + READY_WITHIN_S
        while not asked and not is_ready():
            if part.code is not None or monotonic_s() > until_s:
                raise click.ClickException(f"The {part.name} did not come up.")
            sleep_s(LOOKS_EVERY_S / 2)

    def _supervised(self) -> bool:
        try:
            Link(self._data / SOCKET_NAME).snapshot()
        except LinkSilent:
            return False
        return True

    def _announce(self) -> None:
        from supervisor.cli.web import pairing_lines, shown_host  # late: only here are the pages part of this program
        from web.book import Book
        from web.pairing import new_code

        address = f"http://{shown_host(self._host)}:{self._port}/"
        click.echo(f"Page: {address}")
        if self._host == EVERYWHERE:
            click.echo(f"      http://{LOOPBACK}:{self._port}/ on this machine")
        picture = sys.stdout.isatty() and self._host == EVERYWHERE  # no phone reaches an address of this machine alone
        click.echo(pairing_lines(new_code(Book(self._data / "book.db"), utc_ms()), address, picture=picture))
        click.echo(f"Data: {self._data}")
        click.echo("Simulated: nothing real is switched. Ctrl-C ends it.")


def _listens(path: Path) -> bool:
    with socket.socket(socket.AF_UNIX) as probe:
        return probe.connect_ex(str(path)) == 0


def _answers(host: str, port: int) -> bool:
    with socket.socket() as probe:
        probe.settimeout(1.0)
        return probe.connect_ex((LOOPBACK if host == EVERYWHERE else host, port)) == 0
