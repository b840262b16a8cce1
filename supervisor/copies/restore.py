"""Putting a backup back: both files or neither, and never under a running supervisor or beside a hot furnace.

What is put back is copied beside the records first. One rename then decides: from it on whoever opens the directory
next finishes what was begun. What was there before is moved aside, never deleted. The identity beside the log stays: it
tells the next supervisor that this log is an older copy, and a reset at the furnace is asked for.
"""

import contextlib
import os
import shutil
import sqlite3
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from supervisor.book.writing import FILE_NAME as BOOK
from supervisor.copies.backup import check
from supervisor.logbook.backups import MANIFEST, Backup
from supervisor.logbook.database import UNREADABLE, sync_directory
from supervisor.logbook.directory import IDENTITY_FILE, read_identity, write_identity
from supervisor.logbook.place import hold_lock
from supervisor.logbook.rest import last_seen
from supervisor.logbook.restoring import STAGED, finish
from supervisor.refusal import InputRefused

STAYS = (IDENTITY_FILE, MANIFEST)
"""Of a backup: not put back."""


def restore(path: Path, data: Path, *, utc_ms: int, anyway: bool = False) -> tuple[Backup, Path | None]:
    """Put a backup back. anyway: though nobody knows the furnace to be cold; for a log that cannot be read.

    Returns the backup, and where the records that were there lie now.

    Raises:
        InputRefused: it is no whole backup or another furnace's, a supervisor runs, the furnace is not known to be
            cold, or there is no room. The records are as they were.
    """
    found = check(path)
    try:
        data.mkdir(mode=0o700, parents=True, exist_ok=True)
        with hold_lock(data):
            finish(data)  # an earlier one that was cut short
            _refuse_another_furnace(found, data)
            rest = last_seen(data, utc_ms)
            if not rest.cold and not anyway:
                raise InputRefused(
                    f"The furnace of {data} is not known to be cold. {rest.why} Let its supervisor see it cold first,"
                    " or look at it yourself: then add --looked."
                )
            _stage(found, data, f"before-restore-{datetime.fromtimestamp(utc_ms / 1000, UTC):%Y%m%dT%H%M%SZ}")
            _count_an_opening(data)
            with _nobody_writes(data / BOOK):
                aside = finish(data)
    except OSError as error:
        raise InputRefused(f"{path} was not put back ({error.strerror or error}).") from error
    return found, aside


def _stage(found: Backup, data: Path, aside: str) -> None:
    part = data / f".{STAGED}.{os.getpid()}.part"
    try:
        part.mkdir(mode=0o700)
        (part / aside).mkdir(mode=0o700)
        for name in found.files:
            if name in STAYS:
                continue
            file = part / "files" / name
            file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            shutil.copy2(found.path / name, file)
            with file.open("rb+") as written:
                os.fsync(written.fileno())
            sync_directory(file.parent)
        sync_directory(part)
        part.rename(data / STAGED)
        sync_directory(data)
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _count_an_opening(data: Path) -> None:
    """The log that comes back was opened less often than the file beside it says: what happened since is unknown."""
    kept = read_identity(data)
    if kept is not None:
        write_identity(data, kept._replace(openings=kept.openings + 1))


def _refuse_another_furnace(found: Backup, data: Path) -> None:
    """By the file beside the log: the log itself may be what is damaged."""
    kept = read_identity(data)
    if kept is not None and (kept.kind, kept.furnace) != (found.kind, found.furnace):
        raise InputRefused(
            f"{found.path} is of the {found.kind} furnace {found.furnace!r}, and {data} is the {kept.kind} furnace"
            f" {kept.furnace!r}'s."
        )


@contextlib.contextmanager
def _nobody_writes(book: Path) -> Iterator[None]:
    """Hold the book meanwhile, where it can be opened: a page that is just writing is waited for."""
    with contextlib.ExitStack() as held:
        if book.is_file():
            with contextlib.suppress(*UNREADABLE):
                connection = sqlite3.connect(book, isolation_level=None, timeout=10.0)
                held.callback(connection.close)
                connection.execute("BEGIN EXCLUSIVE")
        yield
