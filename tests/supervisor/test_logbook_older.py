"""A log of an older layout beside a furnace that is not cold: written as it is, and renewed later."""

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from supervisor.logbook import database
from supervisor.logbook.directory import open_directory
from supervisor.logbook.reading import open_log
from supervisor.logbook.scribe import Scribe
from supervisor.refusal import InputRefused
from tests.supervisor.logbook import (
    BOOT,
    UTC_MS,
    alarm,
    closed,
    command,
    count,
    estimate,
    event,
    model,
    opened,
    query,
    sample,
    samples,
)
from tests.supervisor.test_logbook_learned import OLD_LOG


@pytest.fixture
def old_home(tmp_path: Path) -> Path:
    """A log of the first layout, its second firing closed."""
    with contextlib.closing(sqlite3.connect(tmp_path / "furnace.db", isolation_level=None)) as connection:
        connection.executescript(OLD_LOG.read_text(encoding="utf-8"))
        connection.execute(
            "UPDATE firing SET state = 'stopped', closed_t_ms = 1, closed_utc_ms = 1, results = '{}' WHERE id = 2"
        )
    return tmp_path


@contextlib.contextmanager
def supervised(home: Path, *, cold: bool | None, backend: str = "simulated") -> Iterator[Scribe]:
    with (
        open_directory(home, backend=backend, furnace="bench", cold=cold) as directory,
        Scribe(directory, boot_id=BOOT, utc_ms=lambda: UTC_MS, threaded=False) as scribe,
    ):
        yield scribe


def layout(home: Path) -> Any:
    return query(home, "PRAGMA user_version")[0][0]


def test_everything_that_the_old_tables_can_hold_is_recorded_on_them(old_home: Path) -> None:
    with supervised(old_home, cold=False):
        pass  # the file without its identity beside it raises an alarm of its own
    before = {table: count(old_home, table) for table in ("sample", "event", "alarm", "command", "firing", "minute")}
    with supervised(old_home, cold=False) as scribe:
        scribe.put([opened(3), *samples(70, 3), event(2000, 3), alarm(t_ms=3000, firing_id=3), command(4000, 3)])
        scribe.put([estimate(60_000, 3), model(3)])
        scribe.put([closed(70_000, 3)])
        assert scribe.trouble is None
    assert layout(old_home) == 1
    after = {table: count(old_home, table) - before[table] for table in before}
    assert after == {"sample": 70, "event": 1, "alarm": 1, "command": 1, "firing": 1, "minute": 2}
    assert not list(old_home.glob("furnace-layout-*")), "nothing was changed, so no copy is kept"
    with open_log(old_home) as log:
        assert log.firing(3).state == "complete"
        assert len(log.samples(3)) == 70
        assert log.models() == []


def test_it_is_renewed_once_somebody_has_seen_the_furnace_cold(old_home: Path) -> None:
    with supervised(old_home, cold=False) as scribe:
        scribe.put([opened(3), *samples(10, 3), closed(10_000, 3)])
    with supervised(old_home, cold=True) as scribe:
        scribe.put([opened(4), sample(60_000, 4, residual_k=-1.25), estimate(60_000, 4), closed(61_000, 4), model(4)])
    assert layout(old_home) == database.LAYOUT
    assert (old_home / "furnace-layout-1.db").exists()
    assert count(old_home, "estimate") == 1
    assert query(old_home, "SELECT count(*) FROM sample WHERE firing_id = 3") == [(10,)]


def test_a_firing_without_closing_record_keeps_the_old_tables_however_cold_it_is(old_home: Path) -> None:
    with supervised(old_home, cold=False) as scribe:
        scribe.put([opened(3), *samples(10, 3)])
    with supervised(old_home, cold=True) as scribe:
        scribe.put([event(11_000, 3)])
    assert layout(old_home) == 1
    with supervised(old_home, cold=True) as scribe:
        scribe.put([closed(12_000, 3, "interrupted")])
    with supervised(old_home, cold=True):
        pass
    assert layout(old_home) == database.LAYOUT


def test_a_real_furnaces_older_log_is_renewed_by_its_supervisor_alone(old_home: Path) -> None:
    with contextlib.closing(sqlite3.connect(old_home / "furnace.db")) as connection, connection:
        connection.execute("UPDATE identity SET kind = 'real'")
    with pytest.raises(InputRefused, match="Start the supervisor first"), supervised(old_home, cold=None, backend="pi"):
        pass
    assert layout(old_home) == 1


def test_a_new_log_is_never_an_older_one(tmp_path: Path) -> None:
    with open_directory(tmp_path, backend="simulated", furnace="bench", cold=False) as directory:
        assert not directory.waits
    assert layout(tmp_path) == database.LAYOUT
