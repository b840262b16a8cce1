"""`meltkeeper run`: everything that a person needs at once: furnace (simulated), supervisor, pages and messenger."""

import signal
import socket
import subprocess
import sys
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import click

from hardware.clock import monotonic_s, sleep_s, utc_ms
from supervisor.cli.numbers import NumberIn
from supervisor.example import mark
from supervisor.furnace.enabled import PAGE_PORT, enabled_furnace
from supervisor.furnace.file import read_furnace
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent
from supervisor.logbook.place import default_directory
from supervisor.orphan import end_with_parent
from supervisor.refusal import InputRefused

LOOPBACK, EVERYWHERE = "127.0.0.1", "0.0.0.0"
READY_WITHIN_S = 30.0
ENDS_WITHIN_S = 15.0
LOOKS_EVERY_S = 0.1
MOST_RESTARTS_A_MINUTE = 5
TOLD_WITHIN_S = 20.0
"""A silent supervisor is announced after 10 s, and a message takes 10 s at most."""
RESTS_S = 60.0
"""What is not needed for the furnace and fails too often is tried again after so long."""


@click.command()
@click.option("--simulated", is_flag=True, help="The simulated furnace, also when --furnace names one.")
@click.option("--times-real", type=NumberIn(1, 60), default=30.0, show_default=True, help="Pace while nobody is asked.")
@click.option("--furnace", help="Name of a shipped furnace, or a furnace file.  [default: workshop]")
@click.option("--plant", help="Physics of the simulated furnace, as MODULE:CLASS.")
@click.option(
    "--data",
    type=click.Path(path_type=Path),
    show_default="~/.local/share/meltkeeper/NAME",
    help="Data directory; it belongs to this furnace alone.",
)
@click.option("--host", default=EVERYWHERE, show_default=True, help="Address to listen at; 0.0.0.0 is every one.")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=PAGE_PORT,
    show_default=True,
    help="Port of the page; 0 takes a free one.",
)
@click.option(
    "--from-stage",
    type=click.Choice(["0", "3"]),
    default="3",
    show_default=True,
    help="0: heat is unlocked by proofs, to practise them as on a real furnace. 3: unlocked from the first day.",
)
@click.option("--example", is_flag=True, help="Show an invented workshop: its melts are made behind the page.")
def command(
    simulated: bool,
    times_real: float,
    furnace: str | None,
    plant: str | None,
    data: Path | None,
    host: str,
    port: int,
    from_stage: str,
    example: bool,
) -> None:
    """Run a furnace with its page until Ctrl-C. Without --furnace it is the simulated workshop furnace.

    Nothing real is switched. Ctrl-C stops heating first, then ends everything. The contacts of alerts.toml in the data
    directory are told of alarms, and before everything ends because the supervisor cannot be kept up.

    Exit status: 0 ended as asked, 1 a part failed and everything was ended, 2 cannot run.
    """
    if furnace is not None and not simulated:
        raise InputRefused(
            "A real furnace is watched by units that outlive a terminal: systemd/install sets them up, and `meltkeeper"
            " daemon` runs the supervisor alone. Add --simulated to run this furnace simulated."
        )
    real = enabled_furnace()
    if real is not None and port == PAGE_PORT:
        raise InputRefused(
            f"--port is {port}; allowed: another one. This machine watches {real}, whose page is there, and a simulated"
            " furnace must not be taken for it."
        )
    if example and (furnace or plant):
        raise InputRefused("--example is furnace A of the invented workshop; allowed: without --furnace and --plant")
    name = read_furnace(furnace or "workshop").name
    where = (data or default_directory("example" if example else name)).absolute()
    to_fill = example and _begin_example(where)
    where.mkdir(parents=True, exist_ok=True)
    port = _free_port(host, port)
    family = _Family(where, furnace or "workshop", plant, times_real, host, port, stage=from_stage)
    asked: list[int] = []
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda which, _: asked.append(which))
    try:
        if to_fill:
            family.fill(asked)
        family.begin(asked)
        while not asked and family.look_after():
            sleep_s(LOOKS_EVERY_S)
        if not asked:
            family.tell(asked)
    finally:
        family.end()
    if family.failed:
        raise click.ClickException("A part of it failed; everything was ended.")


@dataclass(slots=True)
class _Part:
    """One of the processes."""

    name: str
    arguments: tuple[str, ...]
    needed: bool = True  # without it everything is ended; another one is tried again for ever
    process: subprocess.Popen[bytes] | None = None
    waits_until_s: float | None = None  # it failed too often, and is given a rest
    restarts: deque[float] = field(default_factory=deque)

    def start(self) -> None:
        """In a session of its own: Ctrl-C is for the parent, which ends them in order."""
        self.process = subprocess.Popen(
            [sys.executable, "-m", "supervisor.cli", *self.arguments],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,  # what a person needs is said by the parent
            start_new_session=True,
            preexec_fn=end_with_parent,
        )

    @property
    def code(self) -> int | None:
        """Exit status; None while it runs."""
        return None if self.process is None else self.process.poll()

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


class _Family:
    """Furnace, supervisor, page, messenger, begun in this order; the supervisor ends first, and switches off."""

    def __init__(
        self, data: Path, furnace: str, plant: str | None, times_real: float, host: str, port: int, *, stage: str
    ) -> None:
        self._data, self._host, self._port = data, host, port
        bench = str(data / "furnace.sock")
        pace = f"{times_real:g}"
        physics = ("--plant", plant) if plant else ()
        self._furnace = _Part(
            "simulated furnace",
            ("furnace", "simulate", "--socket", bench, "--furnace", furnace, "--times-real", pace, *physics),
        )
        at = ("--furnace-socket", bench, "--from-stage", stage)
        self._daemon = _Part("supervisor", ("daemon", "--furnace", furnace, "--data", str(data), *at))
        self._web = _Part(
            "page",
            ("web", "--data", str(data), "--host", host, "--port", str(port), "--bench", bench, "--no-code"),
        )
        self._messenger = _Part("messenger", ("messenger", "--data", str(data)), needed=False)
        self._bench = Path(bench)
        self.failed = False

    def fill(self, asked: list[int]) -> None:
        """Make the example behind its page; the furnace comes up when its log is free.

        Raises:
            click.ClickException: a part did not come up.
        """
        began_s = monotonic_s()
        filler = _Part("maker of the example", ("example", "--data", str(self._data), "--begun"))
        self._web.start()
        try:
            self._wait(self._web, lambda: _answers(self._host, self._port), asked)
            self._announce()
            click.echo("The melts of the example are being made; they come up under Melts. The furnace follows.")
            filler.start()
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

    def _wait(self, part: _Part, is_ready: Callable[[], bool], asked: list[int]) -> None:
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


def _begin_example(data: Path) -> bool:
    """Whether the example is to be made here: it is once; a directory that holds anything else is refused."""
    if mark.read(data) is not None:
        return False
    mark.begin(data, utc_ms())
    return True


def _listens(path: Path) -> bool:
    with socket.socket(socket.AF_UNIX) as probe:
        return probe.connect_ex(str(path)) == 0


def _answers(host: str, port: int) -> bool:
    with socket.socket() as probe:
        probe.settimeout(1.0)
        return probe.connect_ex((LOOPBACK if host == EVERYWHERE else host, port)) == 0


def _free_port(host: str, port: int) -> int:
    """The port itself, or for 0 one that nobody uses.

    Raises:
        InputRefused: somebody uses it.
    """
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise InputRefused(
                f"--host {host} --port {port} cannot be used: {error.strerror}. Name another."
            ) from error
        taken: int = probe.getsockname()[1]
        return taken
