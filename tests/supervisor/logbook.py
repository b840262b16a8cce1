"""Records as the cycle hands them over, made up for the tests of the log."""

import contextlib
import json
import sqlite3
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from supervisor.logbook.directory import open_directory
from supervisor.logbook.records import (
    AlarmRow,
    CommandRow,
    EstimateRow,
    EventRow,
    FiringClosed,
    FiringOpened,
    ModelRow,
    SampleRow,
)
from supervisor.logbook.scribe import Scribe

UTC_MS = 1_772_366_400_000  # 2026-03-01 12:00 UTC
BOOT = "boot-1"
ALL_CLOSED = 0b01_01_01_01_01_01_01_01_01_01_01_01


def opened(firing_id: int = 1, *, heat_number: str | None = None, monotonic_s: float = 100.0) -> FiringOpened:
    frozen = {"top_c": 760.0, "version": "0.1.0"}
    return FiringOpened(firing_id, monotonic_s, "Ingots, 2 kg", heat_number, "Ingots", frozen, "simulated")


def sample(t_ms: int, firing_id: int = 1, **changes: Any) -> SampleRow:
    t_s = t_ms / 1000
    row = SampleRow(firing_id, t_ms, 20 + t_s / 4, 22.0625, 21 + t_s / 4, 0.5, t_s / 3, ALL_CLOSED, "running", 0x1234)
    return row._replace(**changes)


def samples(count: int, firing_id: int = 1) -> list[SampleRow]:
    return [sample(second * 1000, firing_id) for second in range(count)]


def event(t_ms: int = 0, firing_id: int | None = None, kind: str = "note", **detail: Any) -> EventRow:
    return EventRow(firing_id, t_ms, kind, "command line", "command line", detail)


def alarm(step: str = "raised", t_ms: int = 0, firing_id: int | None = None, name: str = "sensor-open/1") -> AlarmRow:
    return AlarmRow(firing_id, t_ms, name, name.partition("/")[0], step, 1, "open circuit", True, "supervisor")


def command(t_ms: int = 0, firing_id: int | None = None) -> CommandRow:
    return CommandRow(firing_id, t_ms, "c-1", "hold", "a phone", "page", True, "Held at 351 °C.", {"at_c": 351.0})


def estimate(t_ms: int, firing_id: int = 1, **changes: Any) -> EstimateRow:
    share, minutes = (0.25, 0.5, 0.75), (12.0, 15.0, 19.0)
    row = EstimateRow(firing_id, t_ms, "melting", 641.5, 630.0, 650.25, *share, *minutes, True, "metal cold", 800.0, "")
    return row._replace(**changes)


def model(firing_id: int | None = 1, *, adopted: bool = True, takes: int | None = None) -> ModelRow:
    learned = {"made_utc_ms": UTC_MS, "learned_from": [1], "metered": True, "loss": 1.0625}
    against = {"t_s": [0.0, 60.0], "reading_c": [20.0, None], "model_c": [20.0, 31.5]}
    return ModelRow(firing_id, adopted, takes, "supervisor", "after a firing", json.dumps(learned), against, "first")


def closed(t_ms: int, firing_id: int = 1, state: str = "complete") -> FiringClosed:
    return FiringClosed(firing_id, t_ms, state, None, {"peak_c": 751.25, "energy_wh": 1234.5})


@contextlib.contextmanager
def scribe_of(path: Path, *, threaded: bool = False, backend: str = "simulated") -> Iterator[Scribe]:
    with (
        open_directory(path, backend=backend, furnace="bench") as directory,
        Scribe(directory, boot_id=BOOT, utc_ms=lambda: UTC_MS, threaded=threaded) as scribe,
    ):
        yield scribe


def query(path: Path, sql: str, *values: Any) -> list[tuple[Any, ...]]:
    """What any SQL tool would read in the log of a data directory."""
    with contextlib.closing(sqlite3.connect(f"{(path / 'furnace.db').as_uri()}?mode=ro", uri=True)) as connection:
        return connection.execute(sql, values).fetchall()


def count(path: Path, table: str) -> int:
    return int(query(path, f"SELECT count(*) FROM {table}")[0][0])


def wait_for(scribe: Scribe, ticket: int) -> None:
    """Wait until a ticket is on disk, in a test with a real thread."""
    event_ = threading.Event()
    for _ in range(2000):
        if scribe.committed >= ticket:
            return
        event_.wait(0.005)
    raise AssertionError(f"ticket {ticket} is not on disk: {scribe.trouble}")
