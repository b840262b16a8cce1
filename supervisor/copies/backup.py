"""Backups of a data directory, made while it is in use: each is a directory of its own, verified before it counts.

The book is copied first, then the log: a melt's closing record names what the log held, so the log may be the newer of
the two and never the older. Both are copied by SQLite itself, in one reading of each; everything else that lies in the
directory is copied as it is.
"""

import contextlib
import hashlib
import json
import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

from supervisor.book import verifying as book_verifying
from supervisor.book.writing import FILE_NAME as BOOK
from supervisor.book.writing import connect_to_read as connect_book
from supervisor.logbook import verifying as log_verifying
from supervisor.logbook.backups import FOLDER, MANIFEST, Backup, backups, described
from supervisor.logbook.database import FILE_NAME as LOG
from supervisor.logbook.database import UNREADABLE, sync_directory
from supervisor.logbook.read_only import connect_to_read
from supervisor.refusal import InputRefused

KEEP = 7
"""So many backups stay in one place."""

NOT_COPIED = (FOLDER, "writer.lock", "ballast", "begun.json", "restoring")
NOT_COPIED_ENDS = ("-wal", "-shm", "-journal", ".new", ".part", ".sock")
NOT_COPIED_STARTS = ("furnace-layout-", "book-layout-", "before-restore-", ".")


def make(data: Path, into: Path, *, utc_ms: int, keep: int = KEEP, tell: Callable[[str], object] = str) -> Backup:
    """Back a data directory up. What cannot be read back whole leaves nothing behind, and earlier backups as they were.

    into: the directory of the backups. keep: so many stay there, the newest without a fault in any case.

    Raises:
        InputRefused: there is nothing to back up, a file cannot be read, or there is no room.
    """
    if not (data / LOG).is_file():
        raise InputRefused(f"There is no log in {data}: name the data directory with --data.")
    name = f"{datetime.fromtimestamp(utc_ms / 1000, UTC):%Y%m%dT%H%M%SZ}"
    done, part = into / name, into / f".{name}.{os.getpid()}.part"
    if done.exists():
        raise InputRefused(f"{done} exists and is left alone; try again in a second.")
    try:
        into.mkdir(mode=0o700, parents=True, exist_ok=True)
        part.mkdir(mode=0o700)
        tell("copying")
        _copy(data, part)
        tell("verifying the copy")
        found = _described(data, part, utc_ms)
        _write(part / MANIFEST, found)
        _sync(part)
        part.rename(done)
        sync_directory(into)
    except (*UNREADABLE, OSError) as error:
        raise InputRefused(f"{data} was not backed up ({error}); earlier backups are as they were.") from error
    finally:
        shutil.rmtree(part, ignore_errors=True)
    made = found._replace(path=done)
    _rotate(into, keep)
    return made


def check(path: Path) -> Backup:
    """Read a backup from end to end: every file is there and is what was written.

    Raises:
        InputRefused: it is no backup, or a file is missing or altered: it is named.
    """
    found = described(path)
    for name, kept in found.files.items():
        file = path / name
        try:
            if not file.is_file() or _sha256(file) != kept:
                raise InputRefused(f"{file} is not as it was written; this backup cannot be used. Take another one.")
        except OSError as error:
            raise InputRefused(f"{file} cannot be read ({error.strerror}); take another backup.") from error
    return found


def copied(folder: Path) -> Iterator[Path]:
    """The files of a data directory that a backup holds beside log and book."""
    for entry in sorted(folder.iterdir()):
        name = entry.name
        if name in NOT_COPIED or name.endswith(NOT_COPIED_ENDS) or name.startswith(NOT_COPIED_STARTS):
            continue
        if entry.is_dir():
            yield from copied(entry)
        elif entry.is_file() and name not in (LOG, BOOK, MANIFEST):
            yield entry


def _copy(data: Path, part: Path) -> None:
    if (data / BOOK).is_file():
        (part / BOOK).touch(mode=0o600)
        with (
            contextlib.closing(connect_book(data / BOOK)) as source,
            contextlib.closing(sqlite3.connect(part / BOOK)) as target,
        ):
            source.backup(target)  # in one step: a writer waits for a moment, and nothing is copied twice
    with contextlib.closing(connect_to_read(data / LOG)) as log:
        log.execute("VACUUM INTO ?", (str(part / LOG),))
    for file in copied(data):
        target_file = part / file.relative_to(data)
        target_file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with contextlib.suppress(FileNotFoundError):  # it was there a moment ago: somebody else's passing file
            shutil.copy2(file, target_file)


def _described(data: Path, part: Path, utc_ms: int) -> Backup:
    log = log_verifying.verify(part)
    book = book_verifying.verify(part / BOOK) if (part / BOOK).is_file() else None
    for name in (LOG, BOOK):
        if (part / name).is_file():
            _refuse_damage(part / name)
    with contextlib.closing(sqlite3.connect(part / LOG)) as connection:
        kind, furnace = connection.execute("SELECT kind, furnace FROM identity").fetchone()
    files = {str(file.relative_to(part)): _sha256(file) for file in sorted(part.rglob("*")) if file.is_file()}
    faults = [f"{name}: {each.fault}" for name, each in ((LOG, log), (BOOK, book)) if each is not None and each.fault]
    told_book = None if book is None else book._asdict()
    return Backup(part, utc_ms, str(furnace), str(kind), files, log._asdict(), told_book, "; ".join(faults))


def _refuse_damage(file: Path) -> None:
    with contextlib.closing(sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)) as connection:
        (verdict,) = connection.execute("PRAGMA quick_check(1)").fetchone()
    if verdict != "ok":
        raise InputRefused(f"{file.name} is damaged ({str(verdict).splitlines()[-1]}); it was not backed up.")


def _write(file: Path, found: Backup) -> None:
    told = {name: value for name, value in found._asdict().items() if name != "path"}
    file.write_text(json.dumps(told, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")


def _sync(part: Path) -> None:
    """Everything on disk before the name appears under which it counts."""
    for file in part.rglob("*"):
        if file.is_dir():
            sync_directory(file)
        else:
            with file.open("rb+") as written:
                os.fsync(written.fileno())
    sync_directory(part)


def _rotate(into: Path, keep: int) -> None:
    """Let the oldest go; the newest without a fault stays whatever happens."""
    found = backups(into)
    good = next((each for each in found if not each.fault), None)
    others = [each for each in reversed(found) if each is not good]
    for each in others[: max(0, len(found) - keep)]:
        shutil.rmtree(each.path, ignore_errors=True)


def _sha256(file: Path) -> str:
    with file.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
