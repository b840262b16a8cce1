"""`meltkeeper daemon`: the supervisor of one furnace as a process."""

import signal
import sqlite3
from collections.abc import Sequence
from contextlib import ExitStack, closing
from dataclasses import replace
from functools import partial
from importlib.metadata import version
from pathlib import Path
from uuid import uuid4

import click

from hardware.clock import monotonic_s, sleep_s, utc_ms
from hardware.ports import OutputFault
from hardware.simulated.client import ConnectedFurnace, FurnaceGone
from supervisor.begin import begin
from supervisor.firing.profile_file import profile_from_text
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.learner import Learner
from supervisor.link.client import SOCKET_NAME
from supervisor.link.equipment import equipment
from supervisor.link.server import LinkServer
from supervisor.logbook import aftermath
from supervisor.logbook.directory import DataDirectory, Identity, open_directory
from supervisor.logbook.place import default_directory
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import Record
from supervisor.logbook.restarts import Counter
from supervisor.logbook.scribe import Scribe
from supervisor.loop import Loop, LoopFault, take_precedence
from supervisor.notify import Notifier
from supervisor.refusal import InputRefused

SIMULATED = "simulated"
FURNACE_WITHIN_S = 5.0
ANOTHER_LOG = "This furnace was last watched with another log, or a later copy; what it did then is unknown."


@click.command()
@click.option("--furnace", default="workshop", show_default=True, help="Name of a shipped furnace, or a furnace file.")
@click.option(
    "--data",
    type=click.Path(path_type=Path),
    show_default="~/.local/share/meltkeeper/NAME",
    help="Data directory; it belongs to this furnace alone.",
)
@click.option(
    "--furnace-socket",
    type=click.Path(path_type=Path),
    help="Socket of a simulated furnace: see `meltkeeper furnace simulate`.",
)
def command(furnace: str, data: Path | None, furnace_socket: Path | None) -> None:
    """Supervise one furnace until SIGTERM or Ctrl-C, which stop heating first.

    It switches the furnace's outputs. It starts stopped, whatever was before; a start needs a press at the furnace.

    Exit status: 0 ended as asked, 1 something failed and everything was switched off, 2 cannot run.
    """
    if furnace_socket is None:
        raise InputRefused(
            "The pins of a Pi are not driven by this version yet: name a simulated furnace with --furnace-socket,"
            " or use `meltkeeper run --simulated`."
        )
    description = read_furnace(furnace)
    with open_directory(
        data or default_directory(description.name), backend=SIMULATED, furnace=description.name
    ) as kept:
        hardware = _connected(furnace_socket, description)
        if hardware.watched_with not in (None, _name(kept.identity)):
            kept = replace(kept, past=kept.past or ANOTHER_LOG)
        try:
            _supervise(hardware, description, kept, Learner(furnace, kept.path))
        except (FurnaceGone, OutputFault, LoopFault, sqlite3.Error, OSError) as error:
            raise click.ClickException(f"Everything was ordered off; look at the furnace. {error}") from error


def _name(log: Identity) -> str:
    """Tells this state of this log from every other: an older copy was opened less often."""
    return f"{log.key} {log.openings}"


def _connected(path: Path, furnace: FurnaceDescription) -> ConnectedFurnace:
    """The simulated furnace at a socket, which may be starting at the same moment.

    Raises:
        InputRefused: nobody answers, or it cannot be used.
    """
    until_s = monotonic_s() + FURNACE_WITHIN_S
    while True:
        try:
            return ConnectedFurnace(path, furnace.wiring)
        except (FurnaceGone, ValueError) as error:
            if not isinstance(error.__cause__, FileNotFoundError | ConnectionRefusedError) or monotonic_s() >= until_s:
                raise InputRefused(f"The simulated furnace cannot be used: {error}.") from error
        sleep_s(0.05)


def _supervise(hardware: ConnectedFurnace, furnace: FurnaceDescription, kept: DataDirectory, learner: Learner) -> None:
    """Put the parts together and turn. Whatever happens on the way, the outputs end off."""
    asked: list[int] = []
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda which, _: asked.append(which))
    read_profile = partial(profile_from_text, source_name="profile", furnace=furnace)
    boot = f"{Path('/proc/sys/kernel/random/boot_id').read_text(encoding='ascii').strip()}{hardware.clock_name}"
    counter = Counter(kept.path)
    with ExitStack() as parts:
        parts.callback(hardware.close)
        begun_again = counter.begin(boot, monotonic_s(), utc_ms())
        scribe = parts.enter_context(Scribe(kept, boot_id=boot, utc_ms=utc_ms, threaded=True))
        hardware.remember(_name(kept.identity._replace(openings=kept.identity.openings + 1)))
        told_once = equipment(furnace)
        link = parts.enter_context(closing(LinkServer(kept.path / SOCKET_NAME, read_profile, equipment=told_once)))
        notifier = parts.enter_context(closing(Notifier()))
        with open_log(kept.path) as log:
            begun = begin(
                log,
                furnace,
                hardware.sample(),
                backend=hardware.name,
                boot_id=boot,
                utc_ms=utc_ms(),
                restarts=begun_again.restarts,
                too_often=begun_again.too_often,
            )
        scribe.put(begun.records)

        def after_reset(t_ms: int) -> Sequence[Record]:
            counter.end_well()
            return aftermath.after_reset(begun.earlier, t_ms)

        labels = {
            "boot": boot,
            "run": uuid4().hex,
            "version": version("meltkeeper"),
            "restarts": begun_again.restarts,
        }
        parts.callback(learner.close)
        loop = Loop(
            hardware,
            begun.memory,
            scribe,
            link,
            notifier,
            labels=labels,
            after_reset=after_reset if begun.memory.firing.left_open is not None else None,
            learner=learner,
            latest_utc_ms=begun.earlier.latest_utc_ms,
        )
        take_precedence()
        loop.run(lambda: bool(asked))
        counter.end_well()
