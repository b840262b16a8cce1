"""Whether a furnace's log is as it was written: every row against its seal, every seal against the one before it.

Two thousand seals are looked at in one go, their rows read table by table. Where not all of these are as they were
written, or rows do not simply follow on one another, the same seals are looked at again one by one, to name the row.
"""

import contextlib
import sqlite3
from bisect import bisect_right
from collections import Counter
from collections.abc import Callable
from functools import partial
from itertools import islice
from pathlib import Path
from typing import NamedTuple, TypeVar

from supervisor.logbook import seals
from supervisor.logbook.backups import way_back
from supervisor.logbook.database import FILE_NAME, UNREADABLE, damaged
from supervisor.logbook.read_only import connect_to_read, refuse_other_layouts
from supervisor.refusal import InputRefused

SLICE = 2000
"""Seals that are looked at in one go: a reader that stayed would make a running supervisor's log grow without end."""

SINCE_LAYOUT = 5

T = TypeVar("T")

KEYED = ("sample", "minute", "estimate")


class Verdict(NamedTuple):
    """What was found. fault: the first thing that is not as it was written; empty: all is."""

    rows: int  # that a seal covers
    unsealed: int  # rows that were there before there were seals
    seals: int
    fault: str
    digest: str  # of the last seal: only a copy of it kept elsewhere shows that a whole chain was made anew


class _Seal(NamedTuple):
    id: int
    rows_of: str
    first: int
    last: int
    n: int
    checks: str
    digest: str


_KINDS = (int, str, int, int, int, str, str)
"""Of a seal's columns: a flipped bit can make another of them."""


def verify(path: Path, *, kept: dict[int, str] | None = None) -> Verdict:
    """Go through the whole log of a data directory. May be used while a supervisor writes.

    kept: digests of seals that were written down elsewhere, by the seal's number.

    Raises:
        InputRefused: there is no log, or nothing at all can be read of it.
    """
    file = path / FILE_NAME
    if not file.is_file():
        raise InputRefused(f"There is no log in {path}: name the data directory with --data.")
    try:
        with contextlib.closing(connect_to_read(file)) as connection:
            refuse_other_layouts(connection, file)
            (layout,) = connection.execute("PRAGMA user_version").fetchone()
            if layout < SINCE_LAYOUT:
                return Verdict(0, 0, 0, "", "")
            connection.row_factory = None
            return _Looking(connection, kept or {}).look()
    except UNREADABLE as error:
        raise InputRefused(f"{file} cannot be read: {error}. {way_back(path)}".rstrip()) from error


class _Looking:
    """One walk along the chain."""

    def __init__(self, connection: sqlite3.Connection, kept: dict[int, str]) -> None:
        self._connection, self._kept = connection, kept
        self._before, self._count, self._rows, self._unsealed = seals.FIRST, 0, 0, 0
        self._covered: Counter[str] = Counter()

    def look(self) -> Verdict:
        fault = ""
        while not fault and (found := self._slice()):
            fault = self._first_fault(found)
        if not fault:
            self._connection.execute("BEGIN")  # what is added meanwhile is added behind this
            found = self._slice()
            fault = (self._first_fault(found) if found else "") or self._strays() or damaged(self._connection)
            self._connection.execute("COMMIT")
        return Verdict(self._rows, self._unsealed, self._count, fault, self._before)

    def _slice(self) -> list[_Seal]:
        sql = "SELECT * FROM seal WHERE id > ? ORDER BY id LIMIT ?"
        try:
            return self._tolerant(lambda: list(map(_Seal._make, self._connection.execute(sql, (self._count, SLICE)))))
        except UNREADABLE as error:
            return [_Seal(-1, str(error), 0, 0, 0, "", "")]

    def _first_fault(self, found: list[_Seal]) -> str:
        if self._are_whole(found):
            self._count, self._before = found[-1].id, found[-1].digest
            for seal in found:
                self._cover(seal)
            return ""
        for seal in found:
            if seal.id == -1:
                return f"the seals after number {self._count} cannot be read ({seal.rows_of})"
            self._count += 1
            if seal.id != self._count:
                return f"seal {self._count} is missing"
            if fault := self._fault(seal):
                return fault
            self._before = seal.digest
        return ""

    def _are_whole(self, found: list[_Seal]) -> bool:
        """Whether all are as they were written, their rows following on one another; false: to be looked at singly.

        It is enough that the digests agree: they cover each row with its key, and the rows are read in that order.
        """
        before, of_table = self._before, dict[str, list[tuple[str, _Seal]]]()
        for number, seal in enumerate(found, self._count + 1):
            if tuple(map(type, seal)) != _KINDS or seal.id != number or seal.n < 1 or not seal.checks:
                return False
            if self._kept.get(number, seal.digest) != seal.digest:
                return False
            of_table.setdefault(seal.rows_of, []).append((before, seal))
            before = seal.digest
        try:
            return all(self._follow(chained) for chained in of_table.values())
        except UNREADABLE:
            return False

    def _follow(self, chained: list[tuple[str, _Seal]]) -> bool:
        """Whether seals over rows of one table are whole; each with the digest before it."""
        first, last = min(seal.first for _, seal in chained), max(seal.last for _, seal in chained)
        with contextlib.closing(seals.between(self._connection, chained[0][1].rows_of, first, last)) as rows:
            return all(
                seals.digest(before, seal[1:6], seals.as_sealed(islice(rows, seal.n))) == seal.digest
                for before, seal in chained
            )

    def _fault(self, seal: _Seal) -> str:
        if not isinstance(seal.n, int) or not isinstance(seal.first, int) or not isinstance(seal.last, int):
            return f"seal {seal.id} was altered"
        is_past = not seal.checks
        try:
            rows = [] if is_past else self._tolerant(partial(seals.read, self._connection, *seal[1:4]))
        except UNREADABLE as error:
            return f"{_named(seal.rows_of, seal.first)} or one of the {seal.n - 1} after it cannot be read ({error})"
        if seals.digest(self._before, seal[1:6], rows) != seal.digest:
            return _altered(seal, rows)
        if self._kept.get(seal.id, seal.digest) != seal.digest:
            return f"seal {seal.id} is not the one that a closed melt wrote down: the chain was made anew"
        self._cover(seal)
        return ""

    def _cover(self, seal: _Seal) -> None:
        if seal.checks:
            self._rows += seal.n
        else:
            self._unsealed += seal.n
        if seal.rows_of not in (seals.CLOSED, "identity"):
            self._covered[seal.rows_of] += seal.n

    def _tolerant(self, read: Callable[[], list[T]]) -> list[T]:
        """Read. A text that a flipped bit has made none is read all the same: its row is to be named."""
        try:
            return read()
        except (sqlite3.OperationalError, UnicodeDecodeError):
            self._connection.text_factory = lambda kept: kept.decode("utf-8", "replace")
            return read()

    def _strays(self) -> str:
        """Rows that no seal covers; every range that a seal names was looked at before."""
        for table in seals.tables(self._connection):
            try:
                (count,) = self._connection.execute(f'SELECT count(*) FROM "{table}"').fetchone()
                if count != self._covered[table]:
                    return self._stray(table)
            except UNREADABLE as error:
                return f"the table {table} cannot be read to its end ({error})"
        return ""

    def _stray(self, table: str) -> str:
        ranges = self._connection.execute(
            "SELECT first_id, last_id FROM seal WHERE rows_of = ? ORDER BY first_id", (table,)
        ).fetchall()
        firsts = [first for first, _ in ranges]
        for (row_id,) in self._connection.execute(f'SELECT id FROM "{table}" ORDER BY id'):
            at = bisect_right(firsts, row_id) - 1
            if at < 0 or ranges[at][1] < row_id:
                return f"{_named(table, row_id)} was added without a seal"
        return f"a row of {table} that was there before there were seals is missing, or was added"


def _altered(seal: _Seal, rows: list[seals.Row]) -> str:
    """Which row of a batch it is, by the checks."""
    checks = [seal.checks[at : at + 8] for at in range(0, len(seal.checks), 8)]
    missing = len(checks) - len(rows)
    other = next((row for row, kept in zip(rows, checks, strict=False) if seals.check(row) != kept), None)
    if other is None and missing > 0:
        return f"the last {missing} of the {seal.n} rows up to {_named(seal.rows_of, seal.last)} are missing"
    if other is None and missing < 0 < len(checks):
        other = rows[len(checks)]
    if other is None:
        return f"seal {seal.id} was altered, over rows of {seal.rows_of}"
    name = _named(seal.rows_of, other[0])
    if isinstance(other[0], int) and not seal.first <= other[0] <= seal.last:
        name = f"The key of one of the rows {seal.first} to {seal.last} of {seal.rows_of}"
    if missing > 0:
        return f"{missing} of {seal.n} rows of {seal.rows_of} are missing, at or before {name}"
    if missing < 0:
        return f"{name} was added without a seal, or seal {seal.id} was altered"
    return f"{name} was altered, or its seal {seal.id} was"


def _named(rows_of: str, row_id: object) -> str:
    """A row as a person finds it."""
    if rows_of in KEYED and isinstance(row_id, int):
        at = row_id & 0xFFFF_FFFF
        when = f"minute {at}" if rows_of == "minute" else f"{at / 1000:.2f} s"
        return f"row {row_id} of {rows_of} (firing {row_id >> 32}, {when})"
    return f"row {row_id} of {rows_of}"
