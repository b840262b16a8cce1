"""The file `furnace.db`: the one way in which a writing connection to it is opened, and its transactions."""

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

LAYOUT = 5
"""`user_version` of a file that this software writes. Older software refuses a newer file."""

FILE_NAME = "furnace.db"

UNREADABLE = (sqlite3.Error, UnicodeDecodeError)
"""What reading a damaged file raises: the second where SQLite's own message quotes the damage."""

BUSY_S = 2.0


def connect(file: Path, *, factory: type[sqlite3.Connection] = sqlite3.Connection) -> sqlite3.Connection:
    """Open the writing connection. There is never more than one. factory: another for a log of an older layout.

    Raises:
        sqlite3.Error: the file cannot be opened or is no database.
    """
    # One thread at a time uses it, not always the one that opened it: the scribe's thread takes it over.
    connection = sqlite3.connect(file, timeout=BUSY_S, isolation_level=None, check_same_thread=False, factory=factory)
    try:
        connection.execute("PRAGMA page_size = 1024")  # before all else: WAL freezes it
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")  # NORMAL loses the last half minute in a power cut
        connection.execute("PRAGMA wal_autocheckpoint = 100")  # a small log that is reused costs a card least
        connection.execute("PRAGMA journal_size_limit = 4194304")
        connection.execute("PRAGMA foreign_keys = ON")
    except BaseException:
        connection.close()
        raise
    return connection


@contextlib.contextmanager
def immediate(connection: sqlite3.Connection) -> Iterator[None]:
    """One transaction, begun as a writer's: committed at the end of the block, or undone whole.

    Raises:
        sqlite3.Error: it was not committed.
    """
    connection.execute("BEGIN IMMEDIATE")  # a deferred one would fail at once, not wait, when another wrote meanwhile
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        with contextlib.suppress(sqlite3.Error):
            if connection.in_transaction:
                connection.execute("ROLLBACK")
        raise


def sync_directory(path: Path) -> None:
    """Put the names in a directory on disk: a file whose name is lost is lost.

    Raises:
        OSError: the directory cannot be opened or synced.
    """
    descriptor = os.open(path, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def damaged(connection: sqlite3.Connection) -> str:
    """What is wrong with a file whose rows are as they were written, in words; empty: nothing.

    An index that does not agree with its table hides rows from whoever looks through it.
    """
    (verdict,) = connection.execute("PRAGMA integrity_check(1)").fetchone()
    told = " ".join(str(verdict).split())
    return "" if told == "ok" else f"the rows are as they were written, and the file is damaged ({told})"
