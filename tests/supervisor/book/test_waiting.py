"""A book of an older meltkeeper beside a hot furnace: read and written as it is, and brought up to date when cold."""

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlite_utils import Database, Migrations

from supervisor.book import schema, writing
from supervisor.book.verifying import verify
from supervisor.book.writing import Book, Value, open_book, read_book
from supervisor.link.cold import is_cold
from supervisor.logbook.rest import seen_cold
from supervisor.refusal import InputRefused
from tests.supervisor.logbook import UTC_MS, opened, sample, scribe_of

MOULD: dict[str, Value] = {
    "code": "M-1",
    "name": "bar",
    "volume_ml": 200.0,
    "mass_kg": None,
    "material": "steel",
    "note": "",
}


@pytest.fixture
def newer(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A book with one mould, made before the software learned of covers and of mould coatings."""
    path = tmp_path / "book.db"
    with open_book(path, who="somebody", sent_from="page", utc_ms=UTC_MS) as book:
        book.append("mould", **MOULD)
    later = Migrations("metal")
    later._migrations = [*schema.metal._migrations]

    @later()
    def m900_covers(db: Database) -> None:
        db.execute(f"CREATE TABLE cover (id INTEGER PRIMARY KEY, words TEXT NOT NULL, {schema.SIGNED}) STRICT")
        db.execute("ALTER TABLE mould ADD COLUMN coating TEXT")

    monkeypatch.setattr(writing, "metal", later)
    return path


@contextlib.contextmanager
def hot(path: Path, *, cold: bool = False) -> Iterator[Book]:
    with open_book(path, who="somebody", sent_from="page", utc_ms=UTC_MS, cold=lambda: cold) as book:
        yield book


def columns(path: Path) -> set[str]:
    with contextlib.closing(sqlite3.connect(path)) as connection:
        return {row[1] for row in connection.execute("PRAGMA table_info(mould)")}


def test_while_it_waits_it_is_written_on_the_old_tables_and_read_as_if_it_were_new(newer: Path) -> None:
    with hot(newer) as book:
        book.append("mould", **{**MOULD, "code": "M-2"}, coating="chalk")
    assert "coating" not in columns(newer)
    with read_book(newer) as book:
        assert [row["coating"] for row in book.rows("SELECT coating FROM mould")] == [None, None]
        assert book.rows("SELECT * FROM cover") == []
    with pytest.raises(InputRefused, match="older meltkeeper and cannot hold this yet"), hot(newer) as book:
        book.append("cover", words="steel sheet")
    assert verify(newer).fault == ""


def test_when_the_furnace_is_cold_it_is_brought_up_to_date_after_a_copy(newer: Path) -> None:
    with hot(newer, cold=True) as book:
        book.append("cover", words="steel sheet")
    assert "coating" in columns(newer)
    assert "coating" not in columns(newer.with_name("book-layout-1.db"))
    assert verify(newer)[:2] == (2, "")


def test_a_furnace_is_cold_only_if_somebody_knows_it(tmp_path: Path) -> None:
    assert seen_cold(tmp_path, UTC_MS), "nothing was ever fired here"
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened(), sample(1000, hot_junction_c=25.0)])
        assert not is_cold(tmp_path, UTC_MS), "a program writes the log, and no supervisor answers"
    assert not seen_cold(tmp_path, UTC_MS), "without its closing record"
    (tmp_path / "furnace.db").write_bytes(b"no database" * 500)
    assert not seen_cold(tmp_path, UTC_MS + 10**10)
