"""Batches to disk, one transaction each, and what to do when the disk does not take them.

A batch is kept until COMMIT has returned, and retried whole. A full disk gives up the samples and keeps the events: the
ballast is given up to make room for them. A disk that is full from the start is the same. Rows that the tables
refuse are a fault of ours: they are counted, the others are written, and the log says so until the program ends.
"""

import contextlib
import sqlite3
from collections.abc import Callable, Sequence
from pathlib import Path

from supervisor.logbook import ballast, database, rows
from supervisor.logbook.records import MAY_WAIT, EstimateRow, SampleRow
from supervisor.logbook.seals import sealed

Item = SampleRow | EstimateRow | rows.Statement

ROOM_AGAIN_BYTES = 16_000_000
"""Free space at which samples are kept again after the disk was full."""

EVENTS_ALONE = "The disk is full: events are still written, samples are not."

REFUSALS = (sqlite3.IntegrityError, sqlite3.ProgrammingError, sqlite3.InterfaceError, OverflowError, ValueError)


class Writer:
    """The one writing connection. `write` never raises because of the disk; `trouble` says what is wrong."""

    def __init__(
        self,
        log: Path,
        connection: sqlite3.Connection,
        connect: Callable[[Path], sqlite3.Connection] = database.connect,
    ) -> None:
        self.trouble: str | None = None
        self.free_mb: float | None = None  # room on disk, as of the last look
        self.lost_samples = 0  # and estimates, for want of room on disk
        self.refused_samples = 0
        self.refused_rows = 0  # events, alarms, commands, firings: what may not be missing
        self._why_refused = ""
        self._full = False
        self._minute = (0, 0)  # firing and minute of the last sample on disk
        self._log = log
        self._connection: sqlite3.Connection | None = connection
        self._connect = connect
        try:
            ballast.make(log.parent)
        except OSError:
            self._full, self.trouble = True, EVENTS_ALONE
        self._look_at_the_room()

    def write(self, batch: Sequence[Item]) -> Sequence[Item]:
        """Put a batch on disk; what has to be tried again comes back, nothing when it is done.

        An empty one looks at the room alone.
        """
        if self._full:
            batch = self._with_samples_if_room(batch)
        try:
            if batch:
                self._transaction(batch)
        except REFUSALS as error:
            return self._write_row_by_row(batch, error)
        except sqlite3.Error as error:
            return self._failed(batch, error)
        if not self._full:
            self.trouble = None
        elif batch:
            self.trouble = EVENTS_ALONE
        self._look_at_the_room()
        return ()

    def refusal(self) -> str | None:
        """Which rows the tables refused, in a sentence."""
        refused = self.refused_rows + self.refused_samples
        return f"Rows that the log refused: {refused}; the last one because: {self._why_refused}." if refused else None

    def close(self) -> None:
        """Give the connection back; the last one folds the write-ahead log into the file."""
        if self._connection is not None:
            with contextlib.suppress(sqlite3.Error):
                self._connection.close()
            self._connection = None

    def _look_at_the_room(self) -> None:
        with contextlib.suppress(OSError):
            self.free_mb = ballast.free_bytes(self._log.parent) / 1e6

    def _transaction(self, batch: Sequence[Item]) -> None:
        connection = self._connected()
        with sealed(connection):
            minute = self._minute
            samples: list[SampleRow] = []
            for item in batch:
                if isinstance(item, SampleRow):
                    samples.append(item)
                    continue
                minute = _add_samples(connection, samples, minute)
                samples = []
                _add(connection, item)
            minute = _add_samples(connection, samples, minute)
        self._minute = minute

    def _write_row_by_row(self, batch: Sequence[Item], first: Exception) -> Sequence[Item]:
        """Write what the tables take of a batch that they refused as a whole."""
        refused: list[tuple[Item, Exception]] = []
        try:
            connection = self._connected()
            with sealed(connection):
                for item in batch:
                    try:
                        if isinstance(item, SampleRow):
                            _add_samples(connection, [item], (item.firing_id, -1))
                        else:
                            _add(connection, item)
                    except REFUSALS as error:
                        refused.append((item, error))
        except sqlite3.Error as error:
            return self._failed(batch, error)
        samples = sum(isinstance(item, MAY_WAIT) for item, _ in refused)
        self.refused_samples += samples
        self.refused_rows += len(refused) - samples
        self._why_refused = str(refused[-1][1] if refused else first)
        return ()

    def _failed(self, batch: Sequence[Item], error: sqlite3.Error) -> Sequence[Item]:
        code = getattr(error, "sqlite_errorname", "")
        if code == "SQLITE_FULL":
            return self._keep_events_alone(batch)
        if code.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
            self.trouble = "Another program holds the log; nothing can be written until it lets go."
        else:  # after the file system gave up, SQLite says "malformed" of a sound file: connect anew, repair nothing
            self.trouble = f"The log cannot be written: {error} ({code or type(error).__name__})."
            self.close()
        return batch

    def _keep_events_alone(self, batch: Sequence[Item]) -> Sequence[Item]:
        self._full = True
        ballast.spend(self._log.parent)
        events = self._without_samples(batch)
        try:
            self._transaction(events)
        except sqlite3.Error as error:
            if getattr(error, "sqlite_errorname", "") != "SQLITE_FULL":
                return self._failed(events, error)
            self.trouble = "The disk is full: nothing can be written any more."
            return events
        self.trouble = EVENTS_ALONE  # once one was: what is said is known
        return ()

    def _without_samples(self, batch: Sequence[Item]) -> list[Item]:
        events: list[Item] = [item for item in batch if not isinstance(item, MAY_WAIT)]
        self.lost_samples += len(batch) - len(events)
        return events

    def _with_samples_if_room(self, batch: Sequence[Item]) -> Sequence[Item]:
        try:
            if ballast.free_bytes(self._log.parent) < ROOM_AGAIN_BYTES:
                return self._without_samples(batch)
            ballast.make(self._log.parent)
        except OSError:
            return self._without_samples(batch)
        self._full = False
        return batch

    def _connected(self) -> sqlite3.Connection:
        if self._connection is None:
            self._connection = self._connect(self._log)
        return self._connection


def _add(connection: sqlite3.Connection, item: rows.Statement | EstimateRow) -> None:
    row = rows.estimate(item) if isinstance(item, EstimateRow) else item
    changed = connection.execute(row.sql, row.values).rowcount
    if row.sql is rows.CLOSE and changed != 1:
        raise sqlite3.IntegrityError(f"there is no firing {row.values[-1]} to close")


def _add_samples(
    connection: sqlite3.Connection, samples: Sequence[SampleRow], minute: tuple[int, int]
) -> tuple[int, int]:
    """Add a run of samples, and the minutes that it ends; firing and minute of its last sample."""
    if not samples:
        return minute
    connection.executemany(rows.SAMPLE, [rows.sample(row) for row in samples])
    last = samples[-1]
    now = (last.firing_id, last.t_ms // rows.MINUTE_MS)
    if now != minute:
        connection.execute(rows.MINUTES, (last.firing_id, now[1] * rows.MINUTE_MS))
    return now
