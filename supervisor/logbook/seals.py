"""Seals: each batch of rows in the log is closed by a digest that hangs on the one before it, in the same transaction.

A seal covers the rows that a transaction added to one table: SHA-256 over the digest before it and JSON of the seal's
own columns and of each row as SQLite returns it, in the order of the keys. Nulls at a row's end are left out, so that a
column that is added later changes no digest. `checks` holds a CRC-32 of each row: the digest tells that a batch was
altered, the checks tell which row.

A trigger notes what is added, whichever statement adds it: no row of any table goes without a seal.
"""

import contextlib
import hashlib
import json
import sqlite3
import zlib
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Any

from supervisor.logbook.database import immediate

FIRST = "0" * 64
"""What the first seal is chained to."""

TABLE = """
    CREATE TABLE seal (
        id INTEGER PRIMARY KEY,
        rows_of TEXT NOT NULL,
        first_id INTEGER NOT NULL,
        last_id INTEGER NOT NULL CHECK (last_id >= first_id),
        n INTEGER NOT NULL CHECK (n > 0),
        checks TEXT NOT NULL,
        digest TEXT NOT NULL
    ) STRICT"""

OPENING = (
    "id, name, heat_number, profile, furnace, backend, frozen, boot_id, started_monotonic_ms, started_utc_ms,"
    " clock_quality, started_local_date, utc_offset_min"
)
CLOSED = "firing closed"

PARTS = {
    "firing": ("firing", OPENING),
    CLOSED: ("firing", "id, closed_t_ms, closed_utc_ms, state, first_cause, results"),
    "identity": ("identity", 'id, kind, furnace, "key"'),
}
"""What is sealed of rows that change once, or count: a firing as it opens and as it closes, whose log this is."""

_NOT_SEALED = ("seal", "_sqlite_migrations")

Row = tuple[Any, ...]

encode = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), check_circular=False, default=repr).encode


@contextlib.contextmanager
def sealed(connection: sqlite3.Connection) -> Iterator[None]:
    """One transaction of the log, what it adds sealed at its end. In a log of an older layout nothing is.

    Raises:
        sqlite3.Error: it was not committed.
    """
    watched = _watch(connection)
    with immediate(connection):
        yield
        if watched:
            _seal(connection)


def seal_the_past(connection: sqlite3.Connection) -> None:
    """Write down how many rows each table held before there were seals: no digest covers those rows."""
    for table in tables(connection):
        first, last, count = connection.execute(f'SELECT min(id), max(id), count(*) FROM "{table}"').fetchone()
        if count:
            _add(connection, table, first, last, count, "", [])


def tables(connection: sqlite3.Connection) -> list[str]:
    """Every table whose rows are sealed, `identity` aside: those that later layouts add are among them."""
    found = connection.execute("SELECT name FROM main.sqlite_schema WHERE type = 'table' ORDER BY name").fetchall()
    return [name for (name,) in found if name not in (*_NOT_SEALED, "identity") and not str(name).startswith("sqlite_")]


def read(connection: sqlite3.Connection, rows_of: str, first: int, last: int) -> list[Row]:
    """The rows between two keys as they are sealed.

    Raises:
        sqlite3.Error: there is no such table, or it cannot be read.
    """
    return as_sealed(between(connection, rows_of, first, last))


def between(connection: sqlite3.Connection, rows_of: str, first: int, last: int) -> sqlite3.Cursor:
    """The rows between two keys, in the order of keys, with all their columns.

    Raises:
        sqlite3.Error: there is no such table, or it cannot be read.
    """
    table, columns = PARTS.get(rows_of, (rows_of, "*"))
    return connection.execute(f'SELECT {columns} FROM "{table}" WHERE id BETWEEN ? AND ? ORDER BY id', (first, last))


def as_sealed(rows: Iterable[Row]) -> list[Row]:
    """Rows as a digest covers them: without the nulls at their ends."""
    return [row if row[-1] is not None else _short(row) for row in rows]


def digest(before: str, header: Sequence[Any], rows: Sequence[Row]) -> str:
    """Of a seal, hex. header: its rows_of, first_id, last_id, n and checks."""
    return hashlib.sha256((before + encode([header, *rows])).encode("utf-8", "surrogatepass")).hexdigest()


def check(row: Row) -> str:
    """The eight hex digits by which an altered row is told among those of its seal."""
    return f"{zlib.crc32(encode(row).encode('utf-8', 'surrogatepass')):08x}"


def head(connection: sqlite3.Connection) -> str:
    """The digest of the newest seal."""
    row = connection.execute("SELECT digest FROM seal ORDER BY id DESC LIMIT 1").fetchone()
    return FIRST if row is None else str(row[0])


def _short(row: Row) -> Row:
    end = len(row)
    while end and row[end - 1] is None:
        end -= 1
    return row[:end]


def _watch(connection: sqlite3.Connection) -> bool:
    """Have every added row noted from now on; false in a log of an older layout."""
    if connection.execute("SELECT 1 FROM temp.sqlite_schema WHERE name = 'added'").fetchone():
        return True
    if not connection.execute("SELECT 1 FROM main.sqlite_schema WHERE name = 'seal'").fetchone():
        return False
    connection.execute("PRAGMA temp_store = MEMORY")
    connection.execute("CREATE TEMP TABLE added (rows_of TEXT NOT NULL, row_id INTEGER NOT NULL)")
    noted = [("INSERT", table, table) for table in tables(connection)]
    for verb, table, rows_of in (*noted, ("UPDATE", "firing", CLOSED), ("UPDATE", "identity", "identity")):
        connection.execute(
            f'CREATE TEMP TRIGGER "{table} {verb}" AFTER {verb} ON main."{table}"'
            f" BEGIN INSERT INTO added VALUES ('{rows_of}', NEW.id); END"
        )
    return True


def _seal(connection: sqlite3.Connection) -> None:
    added = connection.execute("SELECT DISTINCT rows_of, row_id FROM temp.added ORDER BY rows_of, row_id").fetchall()
    for (rows_of, _), group in groupby(added, key=lambda each: (each[0], each[1] >> 32)):  # one firing at a time
        ids = [row_id for _, row_id in group]
        rows = read(connection, rows_of, ids[0], ids[-1])
        if len(rows) == len(ids):
            _add(connection, rows_of, ids[0], ids[-1], len(ids), "".join(map(check, rows)), rows)
            continue
        for row_id in ids:  # others stand between them
            rows = read(connection, rows_of, row_id, row_id)
            _add(connection, rows_of, row_id, row_id, 1, check(rows[0]), rows)
    connection.execute("DELETE FROM temp.added")


def _add(
    connection: sqlite3.Connection, rows_of: str, first: int, last: int, n: int, checks: str, rows: Sequence[Row]
) -> None:
    header = (rows_of, first, last, n, checks)
    connection.execute(
        "INSERT INTO seal (rows_of, first_id, last_id, n, checks, digest) VALUES (?, ?, ?, ?, ?, ?)",
        (*header, digest(head(connection), header, rows)),
    )
