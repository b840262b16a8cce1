"""`meltkeeper messenger`: tells people outside when something is wrong, also when the supervisor itself is."""

import signal
from pathlib import Path

import click

from hardware.clock import monotonic_s, sleep_s, utc_ms
from supervisor.cli.melts import data_option
from supervisor.link.client import SOCKET_NAME, Link
from supervisor.logbook.place import hold_lock
from supervisor.messenger.ear import Ear
from supervisor.messenger.kept import DIRECTORY, Store
from supervisor.messenger.messenger import Messenger
from supervisor.refusal import InputRefused

TURNS_EVERY_S = 0.25


@click.command()
@data_option
def command(data: Path) -> None:
    """Tell the contacts of alerts.toml about alarms, missed signs and a silent supervisor, until SIGTERM or Ctrl-C.

    It switches nothing, and it protects nobody: a message may not arrive. Contacts: see docs/messages.md and
    `meltkeeper contacts`. What it told is remembered in the directory messenger/ of the data directory.

    Exit status: 0 ended as asked, 1 it can make no directory of its own, 2 cannot run.
    """
    if not data.is_dir():
        raise InputRefused(f"There is no data directory {data}: name it with --data.")
    asked: list[int] = []
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda which, _: asked.append(which))
    own = data / DIRECTORY
    try:
        Store(data)
        with hold_lock(own):
            _run(data, asked)
    except OSError as error:
        raise click.ClickException(f"{own} cannot be used: {error.strerror}.") from error


def _run(data: Path, asked: list[int]) -> None:
    link = Link(data / SOCKET_NAME)
    ear = Ear(link, monotonic_s)
    messenger = Messenger(data, ear, link, lambda line: click.echo(line, err=True), now_s=monotonic_s, utc_ms=utc_ms)
    ear.start()
    try:
        while not asked:
            messenger.turn()
            sleep_s(TURNS_EVERY_S)
    finally:
        messenger.close()
