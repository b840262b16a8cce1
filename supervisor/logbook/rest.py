"""Whether a furnace was cold and at rest when its log was last written: some things are changed only then."""

import contextlib
import sqlite3
from pathlib import Path
from typing import NamedTuple

from supervisor.logbook.database import FILE_NAME, UNREADABLE
from supervisor.logbook.place import is_being_written
from supervisor.logbook.read_only import connect_to_read

COLD_BELOW_C = 60.0
COOLED_AFTER_MS = 24 * 3_600_000
"""So long after its last row a furnace is cold, whatever it was then."""


class Rest(NamedTuple):
    """What the log's last rows say."""

    cold: bool
    why: str  # in a sentence, where it is not known to be cold


def last_seen(path: Path, utc_ms: int) -> Rest:
    """What the log of a data directory says of its furnace while no supervisor runs. utc_ms: now.

    A log that cannot be read says nothing, and so nothing is known to be cold. Raises nothing.
    """
    if not (path / FILE_NAME).is_file():
        return Rest(True, "")
    with contextlib.suppress(*UNREADABLE), contextlib.closing(_open(path)) as log:
        firing = log.execute("SELECT id, state, backend FROM firing ORDER BY id DESC LIMIT 1").fetchone()
        if firing is None:
            return Rest(True, "")
        if firing[1] is None:
            return Rest(False, "Its last firing has no closing record.")
        fired = log.execute("SELECT id FROM firing WHERE backend <> 'paper' ORDER BY id DESC LIMIT 1").fetchone()
        if fired is None:
            return Rest(True, "")
        return _of_last_row(log, fired[0], utc_ms)
    return Rest(False, "Its log cannot be read.")


def seen_cold(path: Path, utc_ms: int) -> bool:
    """Whether it is known to be cold by the log alone: while a supervisor runs, only that knows."""
    return not is_being_written(path) and last_seen(path, utc_ms).cold


def _of_last_row(log: sqlite3.Connection, firing_id: int, utc_ms: int) -> Rest:
    row = log.execute(
        "SELECT hot_junction_c FROM sample WHERE id BETWEEN ?1 << 32 AND (?1 << 32) | 4294967295"
        " ORDER BY id DESC LIMIT 1",
        (firing_id,),
    ).fetchone()
    (closed_utc_ms,) = log.execute("SELECT closed_utc_ms FROM firing WHERE id = ?", (firing_id,)).fetchone()
    if row is not None and row[0] is not None and row[0] < COLD_BELOW_C:
        return Rest(True, "")
    if utc_ms - closed_utc_ms >= COOLED_AFTER_MS:
        return Rest(True, "")
    read = "nothing was read of it" if row is None or row[0] is None else f"it read {row[0]:.0f} °C"
    return Rest(False, f"When its last firing ended {read}, less than a day ago.")


def _open(path: Path) -> sqlite3.Connection:
    connection = connect_to_read(path / FILE_NAME)
    connection.row_factory = None
    return connection
