"""What was learned of a furnace, and each minute's estimate, are kept as the rest of the log is."""

import contextlib
import json
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from supervisor.logbook import database
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import EstimateRow, ModelRow
from supervisor.refusal import InputRefused
from tests.supervisor.logbook import UTC_MS, closed, count, estimate, model, opened, query, sample, scribe_of

OLD_LOG = Path(__file__).with_name("logbook_layout_1.sql")


@pytest.fixture
def old_home(tmp_path: Path) -> Path:
    """A directory with the log that the first layout's software left."""
    with contextlib.closing(sqlite3.connect(tmp_path / "furnace.db")) as connection:
        connection.executescript(OLD_LOG.read_text(encoding="utf-8"))
        assert connection.execute("PRAGMA journal_mode = WAL").fetchone() == ("wal",)
        kept = connection.execute('SELECT kind, furnace, "key", openings FROM identity').fetchone()
    identity = dict(zip(("kind", "furnace", "key", "openings"), kept, strict=True))
    (tmp_path / "identity.json").write_text(json.dumps(identity), encoding="utf-8")
    return tmp_path


def test_an_estimate_waits_for_the_batch_and_a_model_does_not(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened()])
        ticket = scribe.put([sample(60_000), estimate(60_000)])
        assert (count(tmp_path, "sample"), count(tmp_path, "estimate")) == (0, 0)
        assert scribe.committed < ticket
        ticket = scribe.put([model()])
        assert scribe.committed == ticket
        assert [count(tmp_path, table) for table in ("sample", "estimate", "model")] == [1, 1, 1]


def test_both_are_read_back_as_they_were_put(tmp_path: Path) -> None:
    unknown: dict[str, Any] = dict.fromkeys(EstimateRow._fields[2:12])
    doubtful = {**unknown, "boost": False, "why": "The sensor is in doubt.", "doubt": "The sensor is in doubt."}
    rows = [estimate(60_000), estimate(120_000, **doubtful)]
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened(), *rows, closed(130_000), model(), model(adopted=False, takes=1)])
    with open_log(tmp_path) as log:
        assert [{"id": 1 << 32 | row.t_ms, **row._asdict()} for row in rows] == log.estimates(1)
        assert log.estimates(2) == []
        newest, first = log.models()
        assert log.models(limit=1) == [newest]
    put: ModelRow = model()
    assert (first.model, first.against, first.note) == (json.loads(put.model), put.against, put.note)
    assert (first.id, first.firing_id, first.utc_ms, first.adopted, first.takes) == (1, 1, UTC_MS, True, None)
    assert (newest.adopted, newest.takes) == (False, 1)


def test_the_views_say_when_a_model_was_made_and_taken_and_what_the_minutes_were(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened(heat_number="A-002"), estimate(90_000), closed(130_000), model()])
    assert query(tmp_path, "SELECT adopted, decided_utc, made_utc, learned_from, metered, who FROM models") == [
        (1, "2026-03-01T12:00:00Z", "2026-03-01T12:00:00Z", "[1]", 1, "supervisor")
    ]
    assert query(tmp_path, "SELECT minute, metal_c, boost FROM estimates WHERE heat_number = 'A-002'") == [
        (1.5, 641.5, 1)
    ]


def test_an_estimate_that_comes_twice_is_counted_and_holds_no_event_back(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened(), estimate(60_000)])
        ticket = scribe.put([estimate(60_000), closed(130_000)])
        assert scribe.committed == ticket
        assert scribe.trouble is not None
        assert scribe.trouble.startswith("Rows that the log refused: 1")
    assert count(tmp_path, "estimate") == 1


def test_a_log_of_the_first_layout_gets_the_new_tables_and_loses_nothing(old_home: Path) -> None:
    tables = ("identity", "firing", "sample", "minute", "event", "alarm", "command", "clock")
    before = {table: query(old_home, f"SELECT * FROM {table}") for table in tables}
    assert len(before["sample"]) == 70
    before["sample"] = [(*row, None, None, None) for row in before["sample"]]  # three columns of layout 3
    with scribe_of(old_home) as scribe:
        scribe.put([opened(3), sample(60_000, 3, residual_k=-1.25), estimate(60_000, 3), closed(61_000, 3), model(3)])
    after = {table: query(old_home, f"SELECT * FROM {table}") for table in tables}
    for table in ("minute", "event", "alarm", "command", "clock", "sample", "firing"):
        assert after[table][: len(before[table])] == before[table]
    assert query(old_home, "PRAGMA user_version") == [(database.LAYOUT,)]
    assert query(old_home, "PRAGMA quick_check") == [("ok",)]
    with open_log(old_home) as log:
        assert [kept.firing_id for kept in log.models()] == [3]
        assert log.samples(3)[0]["residual_k"] == -1.25
        assert [(left.firing_id, left.name) for left in log.left_open()] == [(2, "Ingots, 2 kg")]


def test_the_log_as_it_was_stays_beside_the_new_one(old_home: Path) -> None:
    before = query(old_home, "SELECT * FROM sample")
    with scribe_of(old_home):
        pass
    with contextlib.closing(sqlite3.connect(old_home / "furnace-layout-1.db")) as copy:
        assert copy.execute("SELECT * FROM sample").fetchall() == before
        assert copy.execute("PRAGMA user_version").fetchone() == (1,)
    assert not list(old_home.glob("*.new"))


def test_without_room_for_the_copy_the_log_stays_as_it_was(old_home: Path) -> None:
    (old_home / "furnace-layout-1.new").mkdir()  # in the way of the copy
    with pytest.raises(InputRefused, match="a copy is kept beside it, and that failed"), scribe_of(old_home):
        pass
    assert query(old_home, "PRAGMA user_version") == [(1,)]


def test_a_log_of_the_first_layout_is_read_as_it_is(old_home: Path) -> None:
    with open_log(old_home) as log:
        assert [firing.state for firing in log.firings()] == ["interrupted", "complete"]
        assert log.samples(1)[0]["residual_k"] is None
        assert log.samples(1)[0]["mean_c"] is None
        assert (log.models(), log.estimates(1)) == ([], [])
    assert query(old_home, "PRAGMA user_version") == [(1,)]


def test_a_new_log_has_the_same_tables_as_one_that_was_brought_up_to_date(old_home: Path, tmp_path: Path) -> None:
    with scribe_of(old_home), scribe_of(tmp_path / "new"):
        pass
    sql = "SELECT type, name, sql FROM sqlite_schema ORDER BY type, name"
    assert query(old_home, sql) == query(tmp_path / "new", sql)


KILLED = """
import os, sys
from pathlib import Path
from tests.supervisor.logbook import estimate, event, model, opened, sample, scribe_of
with scribe_of(Path(sys.argv[1])) as scribe:
    scribe.put([opened(), model(None)])
    for minute in range(1, 4):
        scribe.put([sample(minute * 60_000, residual_k=minute / 4), estimate(minute * 60_000)])
    scribe.put([event(181_000, 1)])
    scribe.put([sample(240_000, residual_k=9.0), estimate(240_000)])  # they wait for their batch
    os.kill(os.getpid(), 9)
"""


@pytest.mark.processes
def test_a_kill_in_the_middle_of_a_firing_leaves_model_residuals_and_estimates(
    tmp_path: Path, repository: Path
) -> None:
    ended = subprocess.run([sys.executable, "-c", KILLED, str(tmp_path)], cwd=repository, check=False)
    assert ended.returncode == -9
    with scribe_of(tmp_path) as scribe, open_log(tmp_path) as log:
        assert scribe.trouble is None
        assert [left.firing_id for left in log.left_open()] == [1]
        assert [row["t_ms"] for row in log.estimates(1)] == [60_000, 120_000, 180_000]
        assert [row["residual_k"] for row in log.samples(1)] == [0.25, 0.5, 0.75]
        (kept,) = log.models()
        assert (kept.adopted, kept.model) == (True, json.loads(model().model))
