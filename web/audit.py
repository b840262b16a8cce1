"""The record of access: who asked what, when, from where, and what became of it. Rows are only ever added.

A thread writes: neither a stop nor a page waits for the disk. A stop that is repeated, and what is refused again and
again, becomes one row a minute with its count, so that a flood fills no card. Source: OWASP ASVS 5.0 (working text),
16.2.1, 16.3.1 to 16.3.3.
"""

import sqlite3
from collections import deque
from collections.abc import Callable
from threading import Event, Lock, Thread

from web.book import Book, Happened
from web.roles import Role

MINUTE_S = 60.0
MOST_WAITING = 2000
MOST_KINDS = 200
"""Of requests that are told apart within a minute; more of them are counted together."""


Alike = tuple[str, str, str, str]


class Audit:
    """Writes the record of access of one furnace."""

    def __init__(self, book: Book, utc_ms: Callable[[], int], monotonic_s: Callable[[], float]):
        self._book = book
        self._utc_ms = utc_ms
        self._monotonic_s = monotonic_s
        self._waiting: deque[Happened] = deque(maxlen=MOST_WAITING)
        self._alike: dict[Alike, int] = {}  # in the record in this minute: how often again
        self._minute_s = monotonic_s()
        self._lock = Lock()
        self._bell, self._ended = Event(), Event()
        self._thread = Thread(target=self._write, name="record of access", daemon=True)

    def start(self) -> None:
        """Begin to write."""
        self._thread.start()

    def close(self) -> None:
        """Write what waits and end."""
        self._ended.set()
        self._bell.set()
        if self._thread.is_alive():
            self._thread.join()
        self.flush(minute_over=True)

    def asked(self, by: tuple[str, Role | None, str], what: str, said: str, *, counted: bool) -> None:
        """Note a request that was to change something, or that was refused, and what became of it.

        by: name, role and address of who asked. counted: the same again within a minute is only counted.
        """
        who, role, address = by
        row = Happened("asked", who, role or "", address, f"{what}: {said}", self._utc_ms())
        with self._lock:
            if counted and not self._is_new(row):
                return
            self._waiting.append(row)
        self._bell.set()

    def _is_new(self, row: Happened) -> bool:
        key = (row.who, row.role, row.address, row.what)
        if key not in self._alike and len(self._alike) >= MOST_KINDS:
            key = ("others", "", "", "more of all sorts")
        known = key in self._alike
        self._alike[key] = self._alike.get(key, -1) + 1
        return not known

    def flush(self, *, minute_over: bool = False) -> None:
        """Write what waits; when a minute is over, also how often what was refused in it was refused again."""
        now_s = self._monotonic_s()
        with self._lock:
            rows = list(self._waiting)
            self._waiting.clear()
            if minute_over or now_s - self._minute_s >= MINUTE_S:
                again = [(key, count) for key, count in self._alike.items() if count]
                rows += [Happened("again", *key, self._utc_ms(), count) for key, count in again]
                self._alike.clear()
                self._minute_s = now_s
        if rows:
            try:
                self._book.remember(rows)
            except (
                sqlite3.Error
            ):  # a book that cannot be written keeps nobody from anything; the furnace's log has it too
                return

    def _write(self) -> None:
        while not self._ended.is_set():
            rang = self._bell.wait(MINUTE_S if self._alike else None)
            if rang and not self._ended.is_set():
                self._ended.wait(0.5)  # what comes together is written together
            self._bell.clear()
            self.flush()
