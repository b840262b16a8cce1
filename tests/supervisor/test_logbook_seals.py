"""Every row of the log is sealed as it is written, and whatever is altered afterwards is named."""

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from supervisor.logbook import seals
from supervisor.logbook.scribe import BATCH_MS
from supervisor.logbook.verifying import verify
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


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """Two firings in several batches, a row in each table."""
    with scribe_of(tmp_path) as scribe:
        scribe.clock(100.0, 1_772_366_400_000, "network")
        scribe.put([opened(1), *samples(130), event(5000, 1), alarm(t_ms=6000, firing_id=1), command(7000, 1)])
        scribe.put([estimate(60_000)])
        scribe.put([sample(131_000), closed(131_000), model()])
        scribe.put([opened(2), *samples(5, 2), event(0, 2)])
    return tmp_path


@contextlib.contextmanager
def anybody(home: Path) -> Iterator[sqlite3.Connection]:
    """A person with an SQL tool, the triggers out of the way."""
    with contextlib.closing(sqlite3.connect(home / "furnace.db", isolation_level=None)) as connection:
        for (name,) in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        yield connection


def test_every_row_of_every_table_has_its_seal(home: Path) -> None:
    found = verify(home)
    assert found.fault == ""
    assert found.unsealed == 0
    with contextlib.closing(sqlite3.connect(home / "furnace.db")) as connection:
        counts = {
            table: connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
            for table in seals.tables(connection)
        }
        assert found.digest == seals.head(connection)
    sealed_ = dict(query(home, "SELECT rows_of, sum(n) FROM seal GROUP BY 1"))
    assert {name: sealed_.get(name, 0) for name in counts} == counts
    assert sealed_[seals.CLOSED] == 1
    assert counts["sample"] == 136


AN_EVENT = "99, firing_id, t_ms, utc_ms, boot_id, kind, who, sent_from, detail FROM event LIMIT 1"
A_READING = "(1 << 32) | 5500, 1, 5500, 1.0, 1.0, 1.0, 0, 0, 0, 'running', 0, 0, 0, 0, 0"

ALTERED = [
    ("UPDATE sample SET hot_junction_c = 1.0 WHERE t_ms = 77000", "of sample (firing 1, 77.00 s) was altered"),
    ("UPDATE sample SET quarters = 3 WHERE id = 1 << 32 | 5000", "of sample (firing 1, 5.00 s) was altered"),
    ("UPDATE event SET detail = '{}' , who = 'nobody' WHERE id = 2", "row 2 of event was altered"),
    ("DELETE FROM sample WHERE id = 1 << 32 | 9000", "rows of sample are missing, at or before row"),
    ("DELETE FROM sample WHERE id = 2 << 32 | 4000", "of the 5 rows up to row"),
    ("UPDATE firing SET name = 'another' WHERE id = 1", "row 1 of firing was altered"),
    ("UPDATE firing SET results = '{}' WHERE id = 1", "row 1 of firing closed was altered"),
    ("UPDATE minute SET energy_wh = 0 WHERE minute = 1", "of minute (firing 1, minute 1) was altered"),
    ("UPDATE identity SET furnace = 'another'", "row 1 of identity was altered"),
    ("UPDATE seal SET digest = 'x' WHERE id = 3", "seal 3 was altered"),
    ("UPDATE seal SET checks = 'x' || substr(checks, 2) WHERE id = 3", "or its seal 3 was"),
    ("DELETE FROM seal WHERE id = 4", "seal 4 is missing"),
    (f"INSERT INTO event SELECT {AN_EVENT}", "row 99 of event was added without a seal"),
    (f"INSERT INTO sample SELECT {A_READING}", "of sample (firing 1, 5.50 s) was added without a seal"),
    ("UPDATE seal SET rows_of = 'nothing' WHERE id = 5", "of nothing"),
]


@pytest.mark.parametrize(("statement", "sentence"), ALTERED)
def test_what_was_altered_is_named(home: Path, statement: str, sentence: str) -> None:
    with anybody(home) as connection:
        connection.execute("PRAGMA foreign_keys = OFF")
        connection.execute(statement)
    assert sentence in verify(home).fault


def test_a_chain_that_was_made_anew_is_told_by_a_digest_that_was_kept_elsewhere(home: Path) -> None:
    newest, digest = query(home, "SELECT id, digest FROM seal ORDER BY id DESC LIMIT 1")[0]
    assert verify(home, kept={newest: digest}).fault == ""
    assert f"seal {newest} is not the one" in verify(home, kept={newest: "0" * 64}).fault


def test_a_column_that_is_added_later_changes_no_digest(home: Path) -> None:
    before = verify(home)
    with anybody(home) as connection:
        connection.execute("ALTER TABLE event ADD COLUMN more TEXT")
        connection.execute("ALTER TABLE sample ADD COLUMN more REAL")
    assert verify(home) == before


def test_a_table_that_is_added_later_is_sealed_without_new_code(home: Path) -> None:
    with anybody(home) as connection:
        connection.execute("CREATE TABLE more (id INTEGER PRIMARY KEY, words TEXT) STRICT")
        with seals.sealed(connection):
            connection.execute("INSERT INTO more (words) VALUES ('one'), ('two')")
        assert verify(home).fault == ""
        connection.execute("UPDATE more SET words = 'three' WHERE id = 2")
    assert "row 2 of more was altered" in verify(home).fault


def test_what_is_undone_leaves_no_seal(home: Path) -> None:
    before = verify(home)
    with anybody(home) as connection:
        with contextlib.suppress(sqlite3.IntegrityError), seals.sealed(connection):
            connection.execute("INSERT INTO clock VALUES (77, 'b', 1, 1, 'rtc', 'x')")
            connection.execute("INSERT INTO event (id) VALUES (77)")
        with seals.sealed(connection):
            pass
    assert verify(home) == before


def test_firings_that_close_together_around_another_are_sealed_one_by_one(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened(1), opened(2), opened(3)])
        scribe.put([closed(1000, 1), closed(1000, 3)])
    assert query(tmp_path, "SELECT n FROM seal WHERE rows_of = ?", seals.CLOSED) == [(1,), (1,)]
    assert verify(tmp_path).fault == ""


def test_a_batch_costs_one_commit_with_its_seals_minutes_and_estimates_and_an_event_one_more(tmp_path: Path) -> None:
    commits: list[str] = []
    with scribe_of(tmp_path) as scribe:
        scribe._batch_ms = BATCH_MS  # as on a real clock
        scribe.put([opened()])
        connection = scribe._writer._connection
        assert connection is not None
        connection.set_trace_callback(lambda sql: commits.append(sql) if sql == "COMMIT" else None)
        for second in range(1, 1201):
            scribe.put([sample(second * 1000)])
            if second % 60 == 0:
                scribe.put([estimate(second * 1000)])
            if second % 300 == 0:
                scribe.put([event(second * 1000, 1)])
        connection.set_trace_callback(None)
    batches = 1200 // (BATCH_MS // 1000 + 1)  # a batch ends with the row that makes it ten seconds old
    assert batches <= len(commits) <= batches + 4 + 1
    assert verify(tmp_path).rows > 1200
