"""The scribe: takes records from the cycle and puts them on disk. The cycle never waits for it.

On a real clock it is a thread; in virtual time it writes in the caller's thread, and an event is on disk when `put`
returns. Events, alarms, commands and the two ends of a firing are committed at once and take the waiting samples along;
samples alone wait for their batch. Reads no clock: UTC labels come from a function that is passed in.
"""

import threading
from collections.abc import Callable, Sequence
from typing import Self

from supervisor.logbook import rows
from supervisor.logbook.directory import DataDirectory
from supervisor.logbook.records import (
    MAY_WAIT,
    EstimateRow,
    EventRow,
    FiringClosed,
    FiringOpened,
    Record,
    SampleRow,
)
from supervisor.logbook.writer import Item, Writer

BATCH_MS = 10_000
"""Samples waiting for their batch at most, ms of process time: what a power cut can take."""

VIRTUAL_BATCH_MS = 300_000
"""The same in virtual time, where this is a fraction of a real second."""

KEEP_ITEMS = 3600
"""Rows kept in memory while the disk takes none: an hour of a firing."""

RETRY_S = 1.0
ROOM_EVERY_S = 10.0
"""How often the room on disk is looked at while nothing is written."""

STEP_MS = 500
"""A clock that moves by more than this against monotonic time gets a row."""

STEPS_APART_MS = 10_000
HOUR_MS = 3_600_000


class Scribe:
    """Writes the log of one data directory. One thread calls put and clock; the properties may be read by any.

    boot_id: tells this boot's monotonic time from another's. utc_ms: UTC as believed now. threaded: on a real clock.

    Raises:
        sqlite3.Error, OSError: the log cannot be opened.
    """

    def __init__(self, directory: DataDirectory, *, boot_id: str, utc_ms: Callable[[], int], threaded: bool) -> None:
        self._utc_ms = utc_ms
        self._stamp = rows.Stamp(boot_id, utc_ms(), "unset", directory.identity.furnace)
        self._clock: tuple[int, int, str] | None = None  # of the last row: monotonic, UTC less monotonic, quality
        self._step_ms = -STEPS_APART_MS
        self._started_ms: dict[int, int] = {}  # monotonic time at which the open firing began
        connection = directory.begin(boot_id=boot_id, utc_ms=self._stamp.utc_ms)
        self._writer = Writer(directory.log, connection, directory.connect)
        self._batch_ms = BATCH_MS if threaded else VIRTUAL_BATCH_MS
        self._taken: list[Item] = []  # the caller's, until it is handed over
        self._first_ms: int | None = None
        self._ticket = 0
        self._last_t_ms: tuple[int | None, int] = (None, 0)
        self._wake = threading.Condition()
        self._queue: list[Item] = []  # guarded by _wake, as are the next two
        self._handed = 0
        self._closing = False
        self._committed = 0
        self._lost_samples = 0  # for want of memory
        self._lost_events = 0
        self._lost_told = 0
        self._thread = threading.Thread(target=self._run, name="scribe", daemon=True) if threaded else None
        if self._thread:
            self._thread.start()

    def put(self, records: Sequence[Record]) -> int:
        """Take records; the ticket says when they are on disk: see committed. Never waits or raises for the disk."""
        if not records:
            return self._ticket
        self._ticket += 1
        due = False
        for record in records:
            if isinstance(record, SampleRow):
                self._taken.append(record)
                if self._first_ms is None:
                    self._first_ms = record.t_ms
                due |= record.t_ms - self._first_ms >= self._batch_ms
                self._last_t_ms = record[:2]
            elif isinstance(record, EstimateRow):
                self._taken.append(record)
            else:
                self._stamp = self._stamp._replace(utc_ms=self._utc_ms())
                self._taken += rows.statements(record, self._stamp)
                self._follow(record)
                due = True
        if due:
            self._hand_over()
        return self._ticket

    def clock(self, monotonic_s: float, utc_ms: int, quality: str) -> None:
        """Compare the clocks, once a second or so; a row is written at the start, hourly, and when they part or change.

        quality: unset, saved, network, rtc or person; in virtual time any other word.
        """
        monotonic_ms = round(monotonic_s * 1000)
        offset_ms = utc_ms - monotonic_ms
        reason = self._clock_reason(monotonic_ms, offset_ms, quality)
        self._stamp = self._stamp._replace(quality=quality)
        if reason is None:
            return
        if reason == "step":
            self._step_ms = monotonic_ms
        self._clock = (monotonic_ms, offset_ms, quality)
        self._taken.append(rows.clock(monotonic_ms, self._stamp._replace(utc_ms=utc_ms), reason))
        self._hand_over()

    @property
    def committed(self) -> int:
        """The highest ticket of which every event is on disk. Stands still for good once such a row was refused."""
        return self._committed

    @property
    def trouble(self) -> str | None:
        """What keeps the log from being written, in a sentence."""
        if self._thread is not None and not self._thread.is_alive() and not self._closing:
            return "The scribe has ended; nothing is written any more."
        if self._lost_events:
            return f"{self._lost_events} events were lost: memory holds no more of what the disk does not take."
        return self._writer.trouble or self._writer.refusal()

    @property
    def free_mb(self) -> float | None:
        """Room on disk as of the last look, MB; None: the disk does not say."""
        return self._writer.free_mb

    @property
    def lost_samples(self) -> int:
        """Samples given up since the start because disk or memory had no room."""
        return self._writer.lost_samples + self._lost_samples

    def close(self) -> None:
        """Write what waits, once more if need be, and give the file back."""
        self._hand_over(closing=True)
        if self._thread:
            self._thread.join(timeout=10.0)
            if self._thread.is_alive():
                return  # the disk does not answer; the connection is still the thread's
        self._writer.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _clock_reason(self, monotonic_ms: int, offset_ms: int, quality: str) -> str | None:
        if self._clock is None:
            return "start"
        last_ms, last_offset_ms, last_quality = self._clock
        if quality != last_quality:
            return "quality"
        if abs(offset_ms - last_offset_ms) > STEP_MS and monotonic_ms - self._step_ms >= STEPS_APART_MS:
            return "step"
        return "hour" if monotonic_ms - last_ms >= HOUR_MS else None

    def _follow(self, record: Record) -> None:
        """The clock's row at a firing's end needs the monotonic time of its start."""
        if isinstance(record, FiringOpened):
            self._started_ms[record.firing_id] = round(record.monotonic_s * 1000)
        if isinstance(record, FiringClosed) and record.firing_id in self._started_ms:
            closed_ms = self._started_ms.pop(record.firing_id) + record.t_ms
            self._taken.append(rows.clock(closed_ms, self._stamp, "firing closed"))

    def _hand_over(self, *, closing: bool = False) -> None:
        lost = self.lost_samples
        if lost > self._lost_told and (closing or self._writer.trouble is None):
            self._tell_loss(lost)
        with self._wake:
            self._queue += self._taken
            self._handed = self._ticket
            self._closing = closing
            if self._thread is not None:
                self._bound_memory()
            self._wake.notify()
        self._taken = []
        self._first_ms = None
        if self._thread is None and not self._write_once():  # here the disk was asked before anything is given up
            with self._wake:
                self._bound_memory()

    def _bound_memory(self) -> None:
        """Give up the oldest samples, and only then the latest events: the first ones are the causes."""
        if len(self._queue) <= KEEP_ITEMS:
            return
        samples = sum(isinstance(item, MAY_WAIT) for item in self._queue)
        give_up = min(samples, len(self._queue) - KEEP_ITEMS)
        self._lost_samples += give_up
        kept: list[Item] = []
        for item in self._queue:
            if give_up and isinstance(item, MAY_WAIT):
                give_up -= 1
            else:
                kept.append(item)
        self._lost_events += len(kept[KEEP_ITEMS:])
        self._queue = kept[:KEEP_ITEMS]

    def _tell_loss(self, lost: int) -> None:
        detail = {"samples": lost - self._lost_told}
        firing_id, t_ms = self._last_t_ms
        event = EventRow(firing_id, t_ms, "samples lost", "scribe", "log", detail)
        self._taken += rows.statements(event, self._stamp._replace(utc_ms=self._utc_ms()))
        self._lost_told = lost

    def _write_once(self) -> bool:
        """One try. Whether everything handed over is on disk."""
        with self._wake:
            batch, self._queue = self._queue, []
            ticket = self._handed
        left = self._writer.write(batch)
        if left:
            with self._wake:
                self._queue[:0] = left
            return False
        if not (self._writer.refused_rows or self._lost_events):
            self._committed = ticket
        return True

    def _run(self) -> None:
        done = True
        while True:
            with self._wake:
                if done:
                    self._wake.wait_for(lambda: self._queue or self._closing, timeout=ROOM_EVERY_S)
                elif not self._closing:
                    self._wake.wait(timeout=RETRY_S)
                closing = self._closing
            done = self._write_once()
            if closing:
                return
