"""Writing to a log of an older layout: what its tables can hold of a row, and no row of which they know nothing.

After an update a log is brought to the new layout when its furnace is cold and at rest, never before: a hot furnace is
watched and recorded on the tables that it was fired on.
"""

import re
import sqlite3
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from supervisor.logbook import database

_INSERT = re.compile(r"INSERT INTO (\w+) \(([^)]*)\)\s*VALUES \([?, ]*\)", re.DOTALL)


class OlderLog(sqlite3.Connection):
    """A connection on which inserts are cut to the columns that are there."""

    _columns: dict[str, frozenset[str]]

    def execute(self, sql: str, parameters: Any = (), /) -> sqlite3.Cursor:
        """Execute; an insert into a table that is missing does nothing."""
        fitted = self._fit(sql)
        if fitted is None:
            return super().execute(sql, parameters)
        sql, kept = fitted
        return super().execute(sql, [parameters[at] for at in kept]) if kept else super().execute("SELECT 1 WHERE 0")

    def executemany(self, sql: str, parameters: Iterable[Any], /) -> sqlite3.Cursor:
        """The same for many rows."""
        fitted = self._fit(sql)
        if fitted is None:
            return super().executemany(sql, parameters)
        sql, kept = fitted
        if not kept:
            return super().execute("SELECT 1 WHERE 0")
        return super().executemany(sql, [[row[at] for at in kept] for row in parameters])

    def _fit(self, sql: str) -> tuple[str, Sequence[int]] | None:
        """The statement with the columns that are there, and the places of their values; None: it fits, or is none."""
        found = _INSERT.fullmatch(sql)
        if found is None:
            return None
        table, names = found[1], [name.strip().strip('"') for name in found[2].split(",")]
        there = self.columns_of(table)
        kept = [at for at, name in enumerate(names) if name in there]
        if len(kept) == len(names):
            return None
        columns = ", ".join(names[at] for at in kept)
        return f"INSERT INTO {table} ({columns}) VALUES ({', '.join('?' * len(kept))})", kept

    def columns_of(self, table: str) -> frozenset[str]:
        """The columns that a table has here; none: there is no such table."""
        known = self.__dict__.setdefault("_columns", {})
        if table not in known:
            rows = super().execute("SELECT name FROM pragma_table_info(?)", (table,)).fetchall()
            known[table] = frozenset(name for (name,) in rows)
        columns: frozenset[str] = known[table]
        return columns


def connect(file: Path) -> sqlite3.Connection:
    """Open the writing connection of a log that is not brought up to date yet.

    Raises:
        sqlite3.Error: the file cannot be opened or is no database.
    """
    return database.connect(file, factory=OlderLog)
