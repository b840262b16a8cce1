"""Bringing `book.db` up to date after an update: when the furnace is cold and at rest, after a copy was kept beside it.

Until then what the older tables can hold is written into them, and what they hold is read. A book that is new to a set
of tables gets them at once: there is nothing that a step could harm.
"""

import sqlite3
from collections.abc import Callable
from pathlib import Path

from sqlite_utils import Database, Migrations

from supervisor.logbook.database import sync_directory
from supervisor.logbook.renewing import keep_a_copy

WAITS = "It is brought up to date when the furnace is cold and at rest."


def renew(connection: sqlite3.Connection, path: Path, steps: Migrations, cold: Callable[[], bool]) -> None:
    """Take the steps that a book lacks, if it may be changed now.

    Raises:
        InputRefused: no copy can be kept.
        sqlite3.Error: a step failed; it was undone.
    """
    db = Database(connection, execute_plugins=False)
    if not steps.pending(db):
        return
    if applied := len(steps.applied(db)):
        if not cold():
            return
        keep_a_copy(connection, path, applied)
    steps.apply(db)
    sync_directory(path.parent)  # a file whose name is lost is lost


def is_older(connection: sqlite3.Connection, steps: Migrations) -> bool:
    """Whether an open book lacks steps of a set of which it has some."""
    db = Database(connection, execute_plugins=False)
    return bool(steps.pending(db)) and bool(steps.applied(db))
