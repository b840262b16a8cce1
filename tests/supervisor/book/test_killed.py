"""A book whose writer was killed in the middle is read as it was before that writing."""

import os
import signal
import sqlite3
from pathlib import Path

import pytest

from supervisor.book.writing import open_book, read_book
from supervisor.copies.backup import make
from tests.supervisor.logbook import UTC_MS, scribe_of

SMALL_CACHE = "PRAGMA cache_size = 1"  # so that pages are written before the transaction ends
COLUMNS = "code, name, volume_ml, material, note, utc_ms, who, sent_from"
MOULD = f"INSERT INTO mould ({COLUMNS}) VALUES (?, 'x', 1, ?, '', 1, 'x', 'x')"


@pytest.mark.processes
@pytest.mark.parametrize("reader", ["page", "backup"])
def test_what_was_half_written_is_undone_by_whoever_reads_next(tmp_path: Path, reader: str) -> None:
    with scribe_of(tmp_path):
        pass
    file = tmp_path / "book.db"
    with open_book(file, who="somebody", sent_from="page", utc_ms=UTC_MS) as book:
        book.append("mould", code="M-1", name="bar", volume_ml=200.0, material="steel", note="")
    child = os.fork()
    if child == 0:
        connection = sqlite3.connect(file, isolation_level=None)
        connection.execute(SMALL_CACHE)
        connection.execute("BEGIN IMMEDIATE")
        for number in range(300):
            connection.execute(MOULD, (f"N-{number}", "y" * 1000))
        os.kill(os.getpid(), signal.SIGKILL)
    os.waitpid(child, 0)
    assert file.with_name("book.db-journal").exists()
    if reader == "backup":
        file = make(tmp_path, tmp_path / "backups", utc_ms=UTC_MS).path / "book.db"
    with read_book(file) as book:
        assert [row["code"] for row in book.rows("SELECT code FROM mould")] == ["M-1"]
