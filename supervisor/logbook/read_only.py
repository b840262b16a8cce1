"""The one way in which a log is opened for reading: read-only, so that a reader can change nothing of a live file."""

import sqlite3
from pathlib import Path

from supervisor.logbook import database
from supervisor.refusal import InputRefused


def connect_to_read(file: Path) -> sqlite3.Connection:
    """Open a log read-only. Where even that may not make its -shm file, and nobody writes, the file is the whole log.

    Raises:
        sqlite3.Error: it cannot be opened, or is no database.
    """
    address = f"{file.resolve().as_uri()}?mode=ro"
    try:
        return _checked(address)
    except sqlite3.OperationalError:
        if file.with_name(f"{file.name}-wal").exists():
            raise
        return _checked(f"{address}&immutable=1")


def _checked(address: str) -> sqlite3.Connection:
    connection = sqlite3.connect(address, uri=True, timeout=database.BUSY_S, isolation_level=None)
    try:
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except BaseException:
        connection.close()
        raise
    connection.row_factory = sqlite3.Row
    return connection


def refuse_other_layouts(connection: sqlite3.Connection, file: Path) -> None:
    """Refuse a log that this software does not read.

    Raises:
        InputRefused: newer software wrote it, or none of ours.
    """
    (layout,) = connection.execute("PRAGMA user_version").fetchone()
    if not 1 <= layout <= database.LAYOUT:
        raise InputRefused(f"{file} has layout {layout}; this meltkeeper reads layouts 1 to {database.LAYOUT}.")
