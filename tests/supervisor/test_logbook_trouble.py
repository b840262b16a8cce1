"""What the disk or the tables do not take: kept or counted, and said."""

import contextlib
import math
import sqlite3
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from supervisor.logbook import ballast as ballast_file
from supervisor.logbook import database
from supervisor.logbook import scribe as scribe_module
from supervisor.logbook.directory import open_directory
from supervisor.logbook.scribe import Scribe
from tests.supervisor.logbook import (
    BOOT,
    UTC_MS,
    closed,
    count,
    event,
    opened,
    query,
    sample,
    samples,
    scribe_of,
    wait_for,
)

KEEP_ITEMS = 150


def test_a_row_that_the_tables_refuse_stands_in_nobodys_way_and_is_never_called_written(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        before = scribe.put([opened()])
        scribe.put([event(0, firing_id=77), sample(1000), sample(2000), event(2000, 1)])
        assert scribe.trouble == "Rows that the log refused: 1; the last one because: FOREIGN KEY constraint failed."
        scribe.put([event(3000, 1)])
        assert scribe.committed == before, "whoever waits for the refused event waits in vain"
        assert (count(tmp_path, "sample"), count(tmp_path, "event")) == (2, 2)
        assert scribe.trouble


@pytest.mark.parametrize(
    "row",
    [sample(1000), sample(3000, duty=math.nan), sample(3000, state=None), sample(2**32), sample(3000, raw_word=2**64)],
    ids=["twice", "no number", "type", "too late", "too great"],
)
def test_a_refused_sample_is_counted_and_the_others_are_written(tmp_path: Path, row: Any) -> None:
    with scribe_of(tmp_path) as scribe:
        ticket = scribe.put([opened(), sample(1000), row, sample(2000), event(2000, 1)])
        assert str(scribe.trouble).startswith("Rows that the log refused: 1")
        assert scribe.committed == ticket
    assert query(tmp_path, "SELECT t_ms FROM sample ORDER BY id") == [(1000,), (2000,)]


def test_closing_a_firing_that_was_never_opened_or_is_closed_already_is_refused(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened()])
        written = scribe.put([closed(1000)])
        scribe.put([closed(2000, state="stopped")])
        scribe.put([closed(2000, firing_id=9)])
        assert str(scribe.trouble).startswith("Rows that the log refused: 2")
        assert "no firing 9" in str(scribe.trouble)
        assert scribe.committed == written
    assert query(tmp_path, "SELECT state, closed_t_ms FROM firing") == [("complete", 1000)]


def test_a_heat_number_is_never_given_twice(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened(1, heat_number="A-087"), opened(2, heat_number="A-087")])
        assert "firing.heat_number" in str(scribe.trouble)
    assert count(tmp_path, "firing") == 1


@contextlib.contextmanager
def another_writer(path: Path) -> Iterator[None]:
    with contextlib.closing(sqlite3.connect(path / "furnace.db", isolation_level=None)) as connection:
        connection.execute("BEGIN IMMEDIATE")
        yield
        connection.execute("ROLLBACK")


@pytest.mark.processes
def test_while_another_program_holds_the_log_nothing_is_lost(tmp_path: Path) -> None:
    with scribe_of(tmp_path, threaded=True) as scribe:
        before = scribe.put([opened()])
        wait_for(scribe, before)
        with another_writer(tmp_path):
            ticket = scribe.put([sample(0), event(0, 1)])
            waiting = threading.Event()
            for _ in range(1000):
                if scribe.trouble:
                    break
                waiting.wait(0.01)
            assert scribe.trouble == "Another program holds the log; nothing can be written until it lets go."
            assert scribe.committed == before
        wait_for(scribe, ticket)
        assert scribe.trouble is None
    assert (count(tmp_path, "sample"), count(tmp_path, "event")) == (1, 1)


@pytest.fixture
def connections(monkeypatch: pytest.MonkeyPatch) -> list[sqlite3.Connection]:
    """Every writing connection that was opened, the scribe's last."""
    opened_: list[sqlite3.Connection] = []
    connect = database.connect

    def remembered(file: Path) -> sqlite3.Connection:
        opened_.append(connect(file))
        return opened_[-1]

    monkeypatch.setattr(database, "connect", remembered)
    return opened_


@contextlib.contextmanager
def full_disk(connection: sqlite3.Connection, *, pages: int) -> Iterator[None]:
    """SQLite's own limit on pages: the writer meets the same SQLITE_FULL as on a full disk."""
    used = connection.execute("PRAGMA page_count").fetchone()[0]
    connection.execute(f"PRAGMA max_page_count = {used + pages}")
    yield
    connection.execute("PRAGMA max_page_count = 1073741823")


def test_a_full_disk_gives_up_samples_and_keeps_events(tmp_path: Path, connections: list[sqlite3.Connection]) -> None:
    ballast = tmp_path / "ballast"
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened()])
        assert ballast.stat().st_blocks * 512 >= ballast_file.BYTES
        with full_disk(connections[-1], pages=3):
            ticket = scribe.put([*samples(400), event(400_000, 1)])
            assert scribe.trouble == "The disk is full: events are still written, samples are not."
            assert scribe.committed == ticket
            assert not ballast.exists()
            assert (count(tmp_path, "sample"), count(tmp_path, "event")) == (0, 1)
        assert scribe.lost_samples == 400
        scribe.put([sample(401_000), event(401_000, 1)])
        assert scribe.trouble is None
        assert ballast.exists()
        scribe.put([event(402_000, 1)])
    assert count(tmp_path, "sample") == 1
    (told,) = query(tmp_path, "SELECT firing_id, who, detail FROM event WHERE kind = 'samples lost'")
    assert told == (1, "scribe", '{"samples": 400}')


def test_on_a_disk_without_any_room_events_wait_and_are_written_when_there_is_some(
    tmp_path: Path, connections: list[sqlite3.Connection]
) -> None:
    with scribe_of(tmp_path) as scribe:
        before = scribe.put([opened()])
        with full_disk(connections[-1], pages=0):
            ticket = scribe.put([event(1, 1, text="x" * 5000), event(2, 1)])
            assert scribe.trouble == "The disk is full: nothing can be written any more."
            assert scribe.committed == before
        scribe.put([event(3, 1)])
        assert scribe.committed > ticket
        assert scribe.trouble is None
    assert query(tmp_path, "SELECT t_ms FROM event ORDER BY id") == [(1,), (2,), (3,)]


def test_what_waits_for_the_disk_is_bounded_and_the_first_events_stay(
    tmp_path: Path, connections: list[sqlite3.Connection], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert scribe_module.KEEP_ITEMS >= 3600, "an hour of a firing"
    monkeypatch.setattr(scribe_module, "KEEP_ITEMS", KEEP_ITEMS)
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened()])
        with full_disk(connections[-1], pages=0):
            for t_ms in range(KEEP_ITEMS + 10):
                scribe.put([event(t_ms, 1, text="x" * 2000)])
        assert scribe.trouble == "10 events were lost: memory holds no more of what the disk does not take."
        scribe.put([event(99_999, 1)])
        assert scribe.committed == 1, "what was lost is never called written"
    kept = query(tmp_path, "SELECT t_ms FROM event ORDER BY id")
    assert kept[:2] == [(0,), (1,)]
    assert KEEP_ITEMS - 10 <= len(kept) <= KEEP_ITEMS + 1


def test_after_an_error_of_the_disk_the_file_is_opened_anew_and_the_batch_written_whole(
    tmp_path: Path, connections: list[sqlite3.Connection]
) -> None:
    with scribe_of(tmp_path) as scribe:
        before = scribe.put([opened()])
        connections[-1].execute("PRAGMA query_only = ON")  # SQLITE_READONLY, as after a remount
        scribe.put([sample(0), event(0, 1)])
        assert str(scribe.trouble).startswith("The log cannot be written: attempt to write a readonly database")
        assert scribe.committed == before
        ticket = scribe.put([event(1000, 1)])
        assert (scribe.trouble, scribe.committed) == (None, ticket)
    assert (count(tmp_path, "sample"), count(tmp_path, "event")) == (1, 2)


def test_a_scribe_that_cannot_open_its_log_says_so_and_leaves_no_connection(tmp_path: Path) -> None:
    with open_directory(tmp_path, backend="simulated", furnace="bench") as directory:
        directory.log.unlink()
        directory.log.mkdir()
        with pytest.raises(sqlite3.OperationalError):
            Scribe(directory, boot_id=BOOT, utc_ms=lambda: UTC_MS, threaded=False)
