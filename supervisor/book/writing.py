"""The way into the book of metal: one transaction, in which every row that is added gets its link in the chain.

A rollback journal and synchronous=EXTRA, as for all of `book.db`: what was written before the plug was pulled is there
afterwards, and what was half written is not.
"""

import contextlib
import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from operator import methodcaller
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from supervisor.book.renewing import WAITS, is_older, renew
from supervisor.book.schema import metal
from supervisor.logbook.backups import way_back
from supervisor.logbook.database import UNREADABLE, damaged
from supervisor.logbook.older import OlderLog
from supervisor.logbook.rest import seen_cold
from supervisor.refusal import InputRefused

FILE_NAME = "book.db"
BUSY_MS = 5000
FIRST = "0" * 64
"""What the first link is chained to."""

Value = str | int | float | None


class Book:
    """The book, open: for reading, or for one transaction of writing."""

    def __init__(self, connection: sqlite3.Connection, *, who: str = "", sent_from: str = "", utc_ms: int = 0) -> None:
        """who, sent_from, utc_ms: go into each row that is added."""
        self._connection = connection
        self.who, self.sent_from, self.utc_ms = who, sent_from, utc_ms

    @property
    def local_date(self) -> str:
        """The day of this writing where the machine stands, as YYYY-MM-DD."""
        return datetime.fromtimestamp(self.utc_ms / 1000, UTC).astimezone().date().isoformat()

    def rows(self, sql: str, *values: Value) -> list[dict[str, Any]]:
        """All rows of a query, as plain dictionaries."""
        return [dict(row) for row in self._connection.execute(sql, values)]

    def one(self, sql: str, *values: Value) -> dict[str, Any] | None:
        """The first row of a query."""
        row = self._connection.execute(sql, values).fetchone()
        return None if row is None else dict(row)

    def raw(self, sql: str, *values: Value) -> list[sqlite3.Row]:
        """All rows of a query, columns in their order."""
        return self._connection.execute(sql, values).fetchall()

    def damage(self) -> str:
        """What is wrong with a file whose rows are as they were written, in words; empty: nothing."""
        return damaged(self._connection)

    def append(self, table: str, **columns: Value) -> int:
        """Add one row and its link; returns its id. utc_ms, who and sent_from are the book's where not given.

        Raises:
            sqlite3.Error: the schema does not allow it, or it cannot be written.
            InputRefused: a book of an older meltkeeper, which waits for a cold furnace, has no such table.
        """
        if isinstance(self._connection, OlderLog) and not self._connection.columns_of(table):
            raise InputRefused(f"The book is of an older meltkeeper and cannot hold this yet. {WAITS}")
        row = {"utc_ms": self.utc_ms, "who": self.who, "sent_from": self.sent_from, **columns}
        names, marks = ", ".join(row), ", ".join("?" * len(row))
        added = self._connection.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", list(row.values()))
        row_id = added.lastrowid
        assert row_id is not None
        before = self._connection.execute("SELECT digest FROM chain ORDER BY id DESC LIMIT 1").fetchone()
        whole = self._connection.execute(f"SELECT * FROM {table} WHERE id = ?", (row_id,)).fetchone()
        digest = link(FIRST if before is None else before[0], table, whole)
        self._connection.execute(
            "INSERT INTO chain (table_name, row_id, digest) VALUES (?, ?, ?)", (table, row_id, digest)
        )
        return row_id


# What is no text or number was never written here: it gets a digest all the same, and a wrong one.
_ENCODE = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), default=repr).encode


def link(before: str, table: str, row: Sequence[Any]) -> str:
    """The digest of a row, hex: SHA-256 of the digest before it and the row as JSON, its columns in their order.

    Nulls at its end are left out, so that a column that is added later changes no digest.
    """
    values = [table, *row]
    while values[-1] is None:
        values.pop()
    return hashlib.sha256(before.encode() + _ENCODE(values).encode("utf-8", "surrogatepass")).hexdigest()


def chained(book: Book) -> list[str]:
    """Every table whose rows have their link: those that say who wrote them, and on what. Later steps add some."""
    rows = book.raw(
        "SELECT t.name FROM sqlite_schema t JOIN pragma_table_info(t.name) c"
        " WHERE t.type = 'table' AND c.name = 'sent_from' ORDER BY t.name"
    )
    return [str(row[0]) for row in rows]


@contextlib.contextmanager
def open_book(
    path: Path, *, who: str, sent_from: str, utc_ms: int, cold: Callable[[], bool] | None = None
) -> Iterator[Book]:
    """Open the book for one transaction: committed when the block ends, undone whole when it raises.

    path: `book.db`; made on first use, readable by its owner alone. cold: tells whether the furnace is known to be cold
    and at rest: a book of an older meltkeeper is brought up to date only then, and else written as it is.

    Raises:
        sqlite3.Error: it cannot be written.
    """
    with contextlib.closing(_connect_to_write(path, cold or (lambda: seen_cold(path.parent, utc_ms)))) as connection:
        connection.execute("BEGIN IMMEDIATE")  # what is checked in the block still holds when it is written
        try:
            yield Book(connection, who=who, sent_from=sent_from, utc_ms=utc_ms)
            connection.execute("COMMIT")
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
            raise


def _connect_to_write(path: Path, cold: Callable[[], bool]) -> sqlite3.Connection:
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch(mode=0o600)
    connection = sqlite3.connect(path, isolation_level=None, factory=OlderLog)
    connection.row_factory = sqlite3.Row
    try:
        connection.execute(f"PRAGMA busy_timeout = {BUSY_MS}")
        connection.execute("PRAGMA journal_mode = DELETE")
        connection.execute("PRAGMA synchronous = EXTRA")
        connection.execute("PRAGMA foreign_keys = ON")
        renew(connection, path, metal, cold)
    except BaseException:
        connection.close()
        raise
    return connection


@contextlib.contextmanager
def read_book(path: Path) -> Iterator[Book]:
    """Open the book to read. One that is not there yet, or holds no metal yet, reads as an empty one.

    Raises:
        InputRefused: it is there and cannot be read.
    """
    try:
        connection = _connect_to_read(path)
    except UNREADABLE as error:
        raise InputRefused(f"{path} cannot be read ({error}). {way_back(path.parent)}".rstrip()) from error
    with contextlib.closing(connection):
        try:
            yield Book(connection)
        except UNREADABLE as error:
            raise InputRefused(f"{path} cannot be read ({error}). {way_back(path.parent)}".rstrip()) from error


_text = methodcaller("decode", "utf-8", "replace")  # asked for each text of each row: a function took twice as long


def _connect_to_read(path: Path) -> sqlite3.Connection:
    if not path.is_file():
        return _in_memory(None)
    connection = connect_to_read(path)
    try:
        known = connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'movement'").fetchone()
        if known and not is_older(connection, metal):
            connection.row_factory = sqlite3.Row
            connection.text_factory = _text  # a flipped bit in a text is named by the chain and is no error
            return connection
        return _in_memory(connection if known else None)  # an older one is read as if it were up to date
    except BaseException:
        connection.close()
        raise


def connect_to_read(path: Path) -> sqlite3.Connection:
    """Open the file read-only. Where a writer was killed in the middle, what it left half written is undone first.

    Raises:
        sqlite3.Error: it cannot be opened, or is no database.
    """
    connection = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, isolation_level=None)
    try:
        connection.execute(f"PRAGMA busy_timeout = {BUSY_MS}")
        try:
            connection.execute("SELECT 1 FROM sqlite_master").fetchone()
        except sqlite3.OperationalError as error:
            if not getattr(error, "sqlite_errorname", "").startswith("SQLITE_READONLY"):
                raise
            with contextlib.closing(sqlite3.connect(path, timeout=BUSY_MS / 1000)) as writer:
                writer.execute("SELECT 1 FROM sqlite_master").fetchone()
    except BaseException:
        connection.close()
        raise
    return connection


def _in_memory(older: sqlite3.Connection | None) -> sqlite3.Connection:
    """An empty book, or a copy of one that waits for a cold furnace, with every table that this software knows."""
    book = sqlite3.connect(":memory:", isolation_level=None)
    if older is not None:
        older.backup(book)
        older.close()
    book.row_factory, book.text_factory = sqlite3.Row, _text
    metal.apply(Database(book, execute_plugins=False))
    return book
