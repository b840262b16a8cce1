"""`meltkeeper daemon`: the supervisor of one furnace as a process."""

import signal
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from contextlib import ExitStack, closing
from dataclasses import replace
from functools import partial
from importlib.metadata import version
from pathlib import Path
from typing import Any, NamedTuple
from uuid import uuid4

import click

from hardware.board import Board
from hardware.clock import monotonic_s, utc_ms
from hardware.ports import FurnaceHardware, OutputFault
from hardware.simulated.client import FurnaceGone
from supervisor.begin import begin
from supervisor.cli.opening import as_watched, open_real, open_simulated, refuse_real, which_furnace
from supervisor.firing.profile_file import profile_from_text
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.enabled import enabled_furnace
from supervisor.furnace.file import read_furnace
from supervisor.learner import Learner
from supervisor.link.client import SOCKET_NAME
from supervisor.link.equipment import equipment
from supervisor.link.server import LinkServer
from supervisor.link.what_if import what_if
from supervisor.logbook import aftermath
from supervisor.logbook.directory import DataDirectory, open_directory
from supervisor.logbook.place import default_directory
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import Record
from supervisor.logbook.restarts import Counter
from supervisor.logbook.scribe import Scribe
from supervisor.loop import Loop, LoopFault, take_precedence
from supervisor.notify import Notifier
from supervisor.software import software

SIMULATED, REAL = "simulated", "pi"


@click.command()
@which_furnace
@click.option(
    "--from-stage",
    type=click.Choice(["0", "3"]),
    default="3",
    show_default=True,
    help="Of a simulated furnace: 0 counts its proofs as a real one's are, 3 unlocks it from the first day.",
)
def command(furnace: str, data: Path | None, furnace_socket: Path | None, from_stage: str) -> None:
    """Supervise one furnace until SIGTERM or Ctrl-C, which stop heating first.

    It switches the furnace's outputs: for real, on the pins of this Raspberry Pi, unless a simulated furnace is named.
    It starts stopped, whatever was before; a start needs a press at the furnace.

    Exit status: 0 ended as asked, 1 something failed and everything was switched off, 2 cannot run.
    """
    description = read_furnace(furnace)
    if furnace_socket is None:
        refuse_real(description)
    asked: list[int] = []
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda which, _: asked.append(which))
    where = data or default_directory(description.name)
    backend = REAL if furnace_socket is None else SIMULATED
    cold = False  # after an update: an older log is used as it is until the furnace was seen cold and at rest
    while True:
        with open_directory(where, backend=backend, furnace=description.name, cold=cold) as kept:
            try:
                with ExitStack() as parts:
                    if furnace_socket is None:
                        opened = _real(description, kept, parts)
                    else:
                        opened = _simulated(description, furnace_socket, kept, parts)
                    opened = opened._replace(from_stage=0 if from_stage == "0" else None)
                    if description.looks_only:
                        opened = opened._replace(kept=replace(opened.kept, past=None))
                    cold = _supervise(opened, description, _learner(furnace, description, kept.path), parts, asked)
            except (FurnaceGone, OutputFault, LoopFault, sqlite3.Error, OSError) as error:
                raise click.ClickException(f"Everything was ordered off; look at the furnace. {error}") from error
        if not cold:
            return


class _Opened(NamedTuple):
    """A furnace that was opened, and what goes with its kind."""

    hardware: FurnaceHardware
    kept: DataDirectory
    clock_name: str  # what the furnace's clock is called beside the boot: a simulated one has its own
    remember: Callable[[str], None]  # tells a simulated furnace which log is written of it
    labels: Mapping[str, Any]
    from_stage: int | None = None  # 0: a simulated furnace whose proofs count


def _real(furnace: FurnaceDescription, kept: DataDirectory, parts: ExitStack) -> _Opened:
    """The pins of this Pi; the computer's own health is looked at beside."""
    board = parts.enter_context(closing(Board()))
    board.start()
    hardware = open_real(furnace, board.health, working=kept.path)
    parts.callback(hardware.close)
    return _Opened(hardware, kept, "", lambda log: None, {})


def _simulated(furnace: FurnaceDescription, socket: Path, kept: DataDirectory, parts: ExitStack) -> _Opened:
    """A simulated furnace at its socket. On a machine that watches a real one, every page says which that is."""
    hardware = open_simulated(furnace, socket)
    parts.callback(hardware.close)
    return _Opened(
        hardware, as_watched(kept, hardware), hardware.clock_name, hardware.remember, {"unwatched": enabled_furnace()}
    )


def _learner(name: str, furnace: FurnaceDescription, data: Path) -> Learner | None:
    """None where another regulator heats: what was ordered is what a model is learned from."""
    return None if furnace.looks_only else Learner(name, data)


def _supervise(
    opened: _Opened, furnace: FurnaceDescription, learner: Learner | None, parts: ExitStack, asked: list[int]
) -> bool:
    """Put the parts together and turn. Whatever happens on the way, the outputs end off: `parts` closes them.

    asked: the signals that came. Returns whether nobody asked for the end: the furnace is cold, and the log may be
    brought up to date.
    """
    hardware, kept = opened.hardware, opened.kept
    read_profile = partial(profile_from_text, source_name="profile", furnace=furnace)
    boot = f"{Path('/proc/sys/kernel/random/boot_id').read_text(encoding='ascii').strip()}{opened.clock_name}"
    counter = Counter(kept.path)
    begun_again = counter.begin(boot, monotonic_s(), utc_ms())
    scribe = parts.enter_context(Scribe(kept, boot_id=boot, utc_ms=utc_ms, threaded=True))
    opened.remember(kept.identity._replace(openings=kept.identity.openings + 1).state)
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
            software=software(),
            from_stage=opened.from_stage,
        )
    begun.memory.log.older = kept.waits
    if furnace.looks_only:  # nothing of ours has tripped or heated: there is nothing to reset, and no button for it
        begun.memory.firing.left_open = begun.memory.firing.aftermath = None
    scribe.put(begun.records)
    link.forecast_with(partial(what_if, begun.memory))

    def after_reset(t_ms: int) -> Sequence[Record]:
        counter.end_well()
        return aftermath.after_reset(begun.earlier, t_ms)

    labels = {
        "boot": boot,
        "run": uuid4().hex,
        "version": version("meltkeeper"),
        "restarts": begun_again.restarts,
        **opened.labels,
    }
    if learner is not None:
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
    loop.run(lambda: bool(asked) or loop.may_renew_the_log)
    counter.end_well()
    return not asked
