"""The tables hold what the log promises, whichever program writes to them."""

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from supervisor.logbook import database, schema, seals
from tests.supervisor.logbook import (
    alarm,
    closed,
    command,
    estimate,
    event,
    model,
    opened,
    query,
    sample,
    samples,
    scribe_of,
)

APPEND_ONLY = ["sample", "minute", "event", "alarm", "command", "clock", "estimate", "model"]


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A log with two firings, one closed, and a row in each table."""
    with scribe_of(tmp_path) as scribe:
        scribe.clock(100.0, 1_772_366_400_000, "network")
        scribe.put([opened(1), *samples(130), event(5000, 1), alarm(t_ms=6000, firing_id=1), command(7000, 1)])
        scribe.put([estimate(60_000)])
        scribe.put([closed(130_000), model()])
        scribe.put([opened(2), *samples(5, 2), event(0, 2)])
    return tmp_path


@pytest.fixture
def anybody(home: Path) -> Iterator[sqlite3.Connection]:
    """A person with an SQL tool that may write."""
    with contextlib.closing(sqlite3.connect(home / "furnace.db", isolation_level=None)) as connection:
        yield connection


@pytest.mark.parametrize("table", APPEND_ONLY)
def test_rows_of_the_log_are_neither_changed_nor_deleted(anybody: sqlite3.Connection, table: str) -> None:
    before = anybody.execute(f"SELECT * FROM {table}").fetchall()
    assert before
    for statement in (f"UPDATE {table} SET id = id", f"DELETE FROM {table}"):
        with pytest.raises(sqlite3.IntegrityError, match=f"rows of {table} are never"):
            anybody.execute(statement)
    assert anybody.execute(f"SELECT * FROM {table}").fetchall() == before


@pytest.mark.parametrize(
    ("statement", "why"),
    [
        ("UPDATE firing SET state = 'stopped' WHERE id = 1", "closed once"),
        ("UPDATE firing SET results = '{}' WHERE id = 1", "closed once"),
        ("UPDATE firing SET name = 'another' WHERE id = 2", "opening of a firing is never changed"),
        ("UPDATE firing SET frozen = '{}' WHERE id = 2", "opening of a firing is never changed"),
        ("DELETE FROM firing", "never deleted"),
        ("UPDATE firing SET state = 'complete' WHERE id = 2", "CHECK"),
        ("UPDATE firing SET state = 'fine', closed_t_ms = 1, results = '{}' WHERE id = 2", "CHECK"),
    ],
)
def test_a_firing_gets_its_closing_columns_once_and_nothing_else(
    anybody: sqlite3.Connection, statement: str, why: str
) -> None:
    with pytest.raises(sqlite3.IntegrityError, match=why):
        anybody.execute(statement)


def test_every_opening_column_is_held() -> None:
    connection = sqlite3.connect(":memory:")
    for table in schema.TABLES:
        connection.execute(table)
    columns = [row[1] for row in connection.execute("PRAGMA table_info(firing)")]
    connection.close()
    closing = ["closed_t_ms", "closed_utc_ms", "state", "first_cause", "results"]
    assert seals.OPENING.split(", ") == [column for column in columns if column not in closing]


@pytest.mark.parametrize(
    ("values", "why"),
    [
        ("((1 << 32) | 9, 1, 7, 20.0, 20.0, 20.0, 0.5, 1.0, 0, 'running', 0)", "CHECK"),
        ("((3 << 32) | 9, 3, 9, 20.0, 20.0, 20.0, 0.5, 1.0, 0, 'running', 0)", "FOREIGN KEY"),
        ("((1 << 32) | 9, 1, 9, 'hot', 20.0, 20.0, 0.5, 1.0, 0, 'running', 0)", "cannot store TEXT"),
        ("((1 << 32) | 9, 1, 9, 20.0, 20.0, 20.0, NULL, 1.0, 0, 'running', 0)", "NOT NULL"),
    ],
)
def test_a_sample_is_held_to_its_key_its_firing_and_its_types(
    anybody: sqlite3.Connection, values: str, why: str
) -> None:
    anybody.execute("PRAGMA foreign_keys = ON")
    columns = (
        "id, firing_id, t_ms, hot_junction_c, cold_junction_c, setpoint_c, duty, energy_wh, inputs, state, raw_word"
    )
    with pytest.raises(sqlite3.IntegrityError, match=why):
        anybody.execute(f"INSERT INTO sample ({columns}) VALUES {values}")


def test_every_table_is_strict_and_named_in_the_singular(home: Path) -> None:
    tables = query(home, "SELECT name, strict FROM pragma_table_list WHERE type = 'table' AND name NOT LIKE '%sqlite%'")
    expected = {"identity", "firing", "sample", "minute", "event", "alarm", "command", "clock", "estimate", "model"}
    expected |= {"proof", "part", "seal"}
    assert dict(tables) == dict.fromkeys(expected, 1)
    views = {name for (name,) in query(home, "SELECT name FROM sqlite_schema WHERE type = 'view'")}
    assert views == {
        "firings",
        "samples",
        "minutes",
        "events",
        "alarms",
        "commands",
        "estimates",
        "models",
        "proofs",
        "parts",
    }


def test_the_file_is_made_for_a_card(home: Path) -> None:
    assert query(home, "PRAGMA page_size") == [(1024,)]
    assert query(home, "PRAGMA journal_mode") == [("wal",)]
    assert query(home, "PRAGMA user_version") == [(database.LAYOUT,)]
    with contextlib.closing(database.connect(home / "furnace.db")) as writer:
        pragmas = ("synchronous", "wal_autocheckpoint", "journal_size_limit", "foreign_keys", "busy_timeout")
        values = [writer.execute(f"PRAGMA {pragma}").fetchone()[0] for pragma in pragmas]
    assert values == [2, 100, 4194304, 1, 2000]


def test_the_views_read_plainly(home: Path) -> None:
    rows = query(
        home, "SELECT name, t_s, hot_junction_c, duty FROM samples WHERE firing_id = 1 AND t_s BETWEEN 4 AND 5"
    )
    assert rows == [("Ingots, 2 kg", 4.0, 21.0, 0.5), ("Ingots, 2 kg", 5.0, 21.25, 0.5)]
    assert query(home, "SELECT name, kind, t_ms FROM events WHERE firing_id = 1") == [("Ingots, 2 kg", "note", 5000)]
    firings = query(home, "SELECT id, state, peak_c, energy_wh, lasted_s, started_utc FROM firings ORDER BY id")
    assert firings == [
        (1, "complete", 751.25, 1234.5, 130.0, "2026-03-01T12:00:00Z"),
        (2, "open", None, None, 4.0, "2026-03-01T12:00:00Z"),
    ]


def test_the_view_of_samples_finds_a_firing_by_its_name_without_reading_all(home: Path) -> None:
    plan = query(home, "EXPLAIN QUERY PLAN SELECT * FROM samples WHERE name = 'x'")
    assert any("SEARCH s USING INTEGER PRIMARY KEY" in row[3] for row in plan), plan


def test_a_sample_that_comes_twice_is_refused(anybody: sqlite3.Connection) -> None:
    row = sample(0)
    with pytest.raises(sqlite3.IntegrityError, match="UNIQUE"):
        anybody.execute(
            "INSERT INTO sample (id, firing_id, t_ms, duty, energy_wh, inputs, state, raw_word)"
            " VALUES (1 << 32, 1, 0, ?, 0.0, 0, 'running', 0)",
            (row.duty,),
        )
