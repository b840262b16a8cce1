"""Group `logbook`: what an hour of a firing costs the card, and what a page waits for after years.

Commits are counted in a firing that is rehearsed in virtual time, its samples batched as on a real clock; what file
system and card add of their own is not in them: `logbook_wear` counts that, at true pace on an image. `logbook_years`
asks a log of 500 firings what the pages ask.
"""

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from unittest.mock import patch

from hardware.simulated.plant import Bench
from supervisor.firing.profile_file import read_profile
from supervisor.furnace.file import read_furnace
from supervisor.logbook import scribe
from supervisor.logbook.database import FILE_NAME
from supervisor.logbook.writer import Writer
from supervisor.rehearsal.rehearse import Wish, rehearse
from tests.benchmarks import logbook_wear, logbook_years
from tests.benchmarks.core import PROFILE
from tests.benchmarks.figure import Figure

_IO = Path("/proc/self/io")


def figures(*, share: float, tell: Callable[[str], None]) -> list[Figure]:
    """Everything. share: of the seventeen minutes at true pace, and of the 500 firings."""
    rows = commits()
    if why := logbook_wear.can_count():
        tell(f"What the card is given is not counted here: {why}.")
    else:
        rows += logbook_wear.figures(share=share, tell=tell)
    with tempfile.TemporaryDirectory(prefix="meltkeeper-", dir=Path.cwd()) as place:
        rows += logbook_years.figures(Path(place), firings=round(500 * share) or 1, verified=2, tell=tell)
    return rows


def commits(*, at_most_s: float = 3 * 3600.0) -> list[Figure]:
    """Count one firing of at_most_s."""
    furnace = read_furnace("bench")
    wish = Wish(read_profile(PROFILE, furnace), furnace, Bench, at_most_s=at_most_s)
    with (
        tempfile.TemporaryDirectory(prefix="meltkeeper-", dir=Path.cwd()) as directory,
        patch.object(scribe, "VIRTUAL_BATCH_MS", scribe.BATCH_MS),
        _commits() as commits,
    ):
        before = _written()
        outcome = rehearse(wish, Path(directory))
        after = _written()
        file_b = (Path(directory) / FILE_NAME).stat().st_size
    hours = outcome.simulated_s / 3600.0
    batches = 3.6e6 / scribe.BATCH_MS
    rows = [
        Figure("log_file_mb_per_firing_hour", file_b / 1e6 / hours, "MB/h", None, "size of furnace.db at the end"),
        Figure(
            "log_commits_per_firing_hour",
            len(commits) / hours,
            "1/h",
            batches,
            "each syncs once, each checkpoint twice more; baseline: batches of samples alone",
        ),
    ]
    for name, key, note in (
        ("log_written_mb_per_firing_hour", "wchar", "bytes given to write calls, log and write-ahead log"),
        ("log_dirtied_mb_per_firing_hour", "write_bytes", "whole pages that these made the kernel write"),
    ):
        if before:
            rows.append(Figure(name, (after[key] - before[key]) / 1e6 / hours, "MB/h", None, note))
    return rows


def _written() -> dict[str, int]:
    """What this process has written so far; empty where the system does not count it."""
    if not _IO.exists():
        return {}
    return {key: int(value) for key, value in (line.split(": ") for line in _IO.read_text().splitlines())}


@contextmanager
def _commits() -> Iterator[list[None]]:
    made: list[None] = []
    transaction = Writer._transaction

    def counted(writer: Writer, *given: Any) -> None:
        transaction(writer, *given)
        made.append(None)

    with patch.object(Writer, "_transaction", counted):
        yield made
