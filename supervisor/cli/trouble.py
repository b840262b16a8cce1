"""`meltkeeper trouble`: a file about what went wrong, to send to a friend."""

import getpass
import json
import os
import platform
import socket
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import click

from hardware import machine
from hardware.board import read_board
from supervisor.cli.data import data_option
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent
from supervisor.logbook.reading import Log, open_log
from supervisor.refusal import InputRefused
from supervisor.trouble import known_secrets, of_event, of_snapshot, without_secrets

LIBRARIES = ("gpiozero", "lgpio", "gpiod", "adafruit-circuitpython-max31855", "Adafruit-Blinka", "sqlite-utils")
FIRINGS, ROWS = 20, 300
HEAD = """\
meltkeeper: what this furnace and its computer say of themselves. Made to be sent to somebody who helps.
No address, token, name of a person or of a machine is in it, as far as the program knows them.
Read it before you send it.
"""


@click.command()
@data_option
@click.option(
    "--to",
    type=click.Path(path_type=Path, dir_okay=False),
    default="meltkeeper-trouble.txt",
    show_default=True,
    help="File that is written; one that is there is left alone.",
)
def command(data: Path, to: Path) -> None:
    """Write a file about what went wrong, to send to a friend. Switches nothing.

    It holds versions, the computer's health, the state, the alarms and what the log says of the last firings; no
    address, token or name. Read it before you send it.

    Exit status: 0 done, 2 the file cannot be written, or it is there already.
    """
    snapshot = _snapshot(data)
    sections = {
        "program": _program(),
        "computer": {"board": machine.model(), **read_board()._asdict()},
        "now": "the supervisor does not answer" if snapshot is None else of_snapshot(snapshot),
        "log": _log(data),
    }
    text = "\n".join(_section(name, content) for name, content in sections.items())
    machines = {socket.gethostname(), platform.node(), _user(), Path.home().name}
    text = without_secrets(text, known_secrets(data, snapshot, machines))
    try:
        handle = os.open(to, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except OSError as error:
        raise InputRefused(f"--to {to} cannot be written: {error.strerror}. Name another file.") from error
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(f"{HEAD}\n{text}")
    click.echo(f"Written: {to}. Read it before you send it.")


def _section(name: str, content: Any) -> str:
    """A heading, then a line of JSON for each row or field."""
    lines = [json.dumps(row, ensure_ascii=False) for row in content] if isinstance(content, list) else []
    if isinstance(content, dict):
        lines = [f"{key}: {json.dumps(value, ensure_ascii=False)}" for key, value in content.items()]
    elif isinstance(content, str):
        lines = [content]
    return "\n".join([f"## {name}", *lines, ""])


def _program() -> dict[str, str]:
    found = {"meltkeeper": version("meltkeeper"), "python": platform.python_version(), "machine": platform.machine()}
    for library in LIBRARIES:
        try:
            found[library.removeprefix("adafruit-circuitpython-")] = version(library)
        except PackageNotFoundError:
            found[library] = "not installed"
    return found


def _snapshot(data: Path) -> dict[str, Any] | None:
    try:
        return Link(data / SOCKET_NAME).snapshot()
    except LinkSilent:
        return None


def _user() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # a user without a name
        return ""


def _log(data: Path) -> list[Any] | str:
    """The last firings without their names, the last alarms and events. Or why there are none."""
    try:
        with open_log(data) as log:
            return [*_firings(log), *_alarms(log), *_events(log)]
    except InputRefused as error:
        return str(error)


def _firings(log: Log) -> list[dict[str, Any]]:
    fields = (
        "id",
        "backend",
        "state",
        "first_cause",
        "started_utc",
        "clock_confirmed",
        "lasted_s",
        "peak_c",
        "energy_wh",
    )
    return [{name: getattr(firing, name) for name in fields} for firing in log.firings(limit=FIRINGS)]


def _alarms(log: Log) -> list[dict[str, Any]]:
    sql = "SELECT firing_id, t_ms, watch, step, priority, evidence FROM alarm ORDER BY id DESC LIMIT ?"
    return [dict(row) for row in log.rows(sql, ROWS)]


def _events(log: Log) -> list[dict[str, Any]]:
    sql = "SELECT firing_id, t_ms, kind, detail FROM event ORDER BY id DESC LIMIT ?"
    rows = [
        {**dict(row), "detail": json.loads(row["detail"]), "t_s": row["t_ms"] / 1000.0} for row in log.rows(sql, ROWS)
    ]
    return [said for row in rows if (said := of_event(row)) is not None]
