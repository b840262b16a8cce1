"""Bringing a log to the newest layout: a copy is kept beside it first, and each step is whole or not at all."""

import contextlib
import os
import sqlite3
from pathlib import Path

from sqlite_utils import Database

from supervisor.logbook.database import LAYOUT, sync_directory
from supervisor.logbook.schema import furnace_log
from supervisor.refusal import InputRefused


def is_older(connection: sqlite3.Connection) -> bool:
    """Whether an open log was written by older software, with tables or columns missing."""
    (layout,) = connection.execute("PRAGMA user_version").fetchone()
    return 0 < int(layout) < LAYOUT


def prepare(connection: sqlite3.Connection, file: Path) -> None:
    """Bring the tables of an open log up to date, and make sure that the directory knows the file.

    Raises:
        InputRefused: newer software wrote the file.
        sqlite3.Error: it cannot be read or written.
    """
    (layout,) = connection.execute("PRAGMA user_version").fetchone()
    if layout > LAYOUT:
        raise InputRefused(
            f"{file} has layout {layout}, of a newer meltkeeper; allowed: up to {LAYOUT}. Install the newer one again."
        )
    if 0 < layout < LAYOUT:
        keep_a_copy(connection, file, layout)
    furnace_log.apply(Database(connection, execute_plugins=False))  # each step whole or not at all
    sync_directory(file.parent)


def keep_a_copy(connection: sqlite3.Connection, file: Path, layout: int) -> None:
    """What was recorded so far stays beside the file as it was, whatever the steps do to it.

    Raises:
        InputRefused: the copy cannot be made; nothing was changed.
    """
    copy = file.with_name(f"{file.stem}-layout-{layout}{file.suffix}")
    if copy.exists():
        return
    unfinished = copy.with_suffix(".new")
    try:
        unfinished.unlink(missing_ok=True)
        connection.execute("VACUUM INTO ?", (str(unfinished),))
        with unfinished.open("rb+") as written:
            os.fsync(written.fileno())
        unfinished.replace(copy)
    except (sqlite3.Error, OSError) as error:
        with contextlib.suppress(OSError):
            unfinished.unlink(missing_ok=True)
        raise InputRefused(
            f"{file} has layout {layout}. Before it is brought up to date a copy is kept beside it, and that failed"
            f" ({error}). Make room there first; the file is as it was."
        ) from error
    sync_directory(file.parent)
