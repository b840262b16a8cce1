"""A data directory: bound to one furnace, born simulated or real, written by one program at a time.

Simulation must never count on the real furnace, and losing the log must never count as a reset: the directory's own
small file `identity.json` and the log's row `identity` name the furnace and count how often the log was opened. When
the two do not agree, the log was lost or put back from an older copy; what happened since then is unknown, and an
alarm that only a reset at the furnace ends is written as the log is opened.
"""

import contextlib
import errno
import json
import os
import sqlite3
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from hardware.clock import monotonic_s
from supervisor.logbook import ballast, database, older, renewing
from supervisor.logbook.backups import way_back
from supervisor.logbook.left_open import PAST_UNKNOWN
from supervisor.logbook.place import default_directory as default_directory
from supervisor.logbook.place import hold_lock
from supervisor.logbook.restoring import finish
from supervisor.logbook.seals import sealed
from supervisor.refusal import InputRefused

IDENTITY_FILE = "identity.json"
CHECK_FOR_S = 2.0


class Identity(NamedTuple):
    """What a directory is bound to."""

    kind: str  # 'simulated' or 'real'
    furnace: str
    key: str  # made once, at random: tells a log from another log of the same furnace
    openings: int  # how often the log was opened for writing

    @property
    def state(self) -> str:
        """Tells this state of this log from every other: an older copy was opened less often."""
        return f"{self.key} {self.openings}"


@dataclass(frozen=True, slots=True)
class DataDirectory:
    """A data directory that this program, and no other, may write."""

    path: Path
    backend: str  # of the hardware: goes into each firing
    identity: Identity
    past: str | None  # why the past counts as an unreset trip; None: the log knows it
    waits: bool = False  # it is of an older layout, and is brought up to date when the furnace is cold and at rest

    @property
    def log(self) -> Path:
        """The log's file."""
        return self.path / database.FILE_NAME

    @property
    def connect(self) -> Callable[[Path], sqlite3.Connection]:
        """How a writing connection to this log is opened."""
        return older.connect if self.waits else database.connect

    def begin(self, *, boot_id: str, utc_ms: int) -> sqlite3.Connection:
        """Open the writing connection, count this opening, and write the alarm of an unknown past.

        The log counts first, the file beside it second: a cut at any point leaves a directory whose past is told alike
        at the next opening.

        Raises:
            sqlite3.Error, OSError: it cannot be written.
        """
        now = self.identity._replace(openings=self.identity.openings + 1)
        with contextlib.ExitStack() as on_failure:
            connection = on_failure.enter_context(contextlib.closing(self.connect(self.log)))
            with sealed(connection):
                connection.execute("UPDATE identity SET openings = ?", (now.openings,))
                if self.past is not None:
                    connection.execute(
                        "INSERT INTO alarm (t_ms, utc_ms, boot_id, alarm, watch, step, priority, evidence, first_out,"
                        " who) VALUES (0, ?, ?, ?, ?, 'raised', 1, ?, 1, 'log')",
                        (utc_ms, boot_id, f"{PAST_UNKNOWN}/{now.openings}", PAST_UNKNOWN, self.past),
                    )
            write_identity(self.path, now)
            on_failure.pop_all()
        return connection


@contextlib.contextmanager
def open_directory(path: Path, *, backend: str, furnace: str, cold: bool | None = None) -> Iterator[DataDirectory]:
    """Make or open a data directory for writing, and hold its lock meanwhile.

    backend: name of the hardware, `simulated` or another. furnace: name of the furnace that it is bound to.
    cold: whether the furnace was seen cold and at rest: a log of an older layout is brought up to date then, and else
    used as it is. None: nobody has looked; a simulated log is brought up to date, a real one left to its supervisor.

    Raises:
        InputRefused: another program writes it, it is of the other kind or of another furnace, or it cannot be written
            or read.
    """
    kind = "simulated" if backend == "simulated" else "real"
    with contextlib.ExitStack() as stack:
        try:
            path.mkdir(parents=True, exist_ok=True)
            ballast.spend_if_full(path)
            stack.enter_context(hold_lock(path))
            finish(path)  # a backup that was being put back when something cut it short
            identity, past, waits = _bind(path, kind, furnace, cold)
        except OSError as error:
            mend = "make room there" if error.errno == errno.ENOSPC else "name another one (--data)"
            raise InputRefused(f"{path} cannot be used as a data directory ({error.strerror}); {mend}.") from error
        yield DataDirectory(path, backend, identity, past, waits)


def _bind(path: Path, kind: str, furnace: str, cold: bool | None) -> tuple[Identity, str | None, bool]:
    """The identity to go on with, why the past is unknown, and whether the log stays of an older layout for now."""
    log = path / database.FILE_NAME
    told = read_identity(path)
    if told is not None:
        _refuse_a_stranger(path, told, kind, furnace)
    if told is None and not log.exists():
        told = Identity(kind, furnace, uuid.uuid4().hex, 0)
        write_identity(path, told)
    try:
        with contextlib.closing(database.connect(log)) as connection:
            _refuse_a_damaged_log(connection, log)
            waits = renewing.is_older(connection) and not _may_be_changed(connection, log, kind, cold)
            if not waits:
                renewing.prepare(connection, log)
            kept = _kept_identity(connection, path, kind, furnace, told)
    except database.UNREADABLE as error:
        raise InputRefused(
            f"{log} cannot be read ({error}), so what the furnace did last is unknown. {_way_out(log)}"
        ) from error
    past = _past(kept, told)
    openings = max(kept.openings, told.openings if told else 0)
    return kept._replace(openings=openings), past, waits


def _may_be_changed(connection: sqlite3.Connection, log: Path, kind: str, cold: bool | None) -> bool:
    """Whether a log of an older layout is brought up to date now.

    Raises:
        InputRefused: it is a real furnace's, and whoever opens it cannot know whether that is cold.
    """
    if cold is None and kind == "real":
        raise InputRefused(
            f"{log} is of an older meltkeeper. Start the supervisor first: it brings the log up to date when the"
            " furnace is cold and at rest."
        )
    if cold is None:
        return True
    left_open = connection.execute("SELECT 1 FROM firing WHERE state IS NULL").fetchone() is not None
    return cold and not left_open


def _refuse_a_damaged_log(connection: sqlite3.Connection, log: Path) -> None:
    """Look the whole file through, for two seconds at most: a longer one is believed as far as it came."""
    until_s = monotonic_s() + CHECK_FOR_S
    connection.set_progress_handler(lambda: monotonic_s() > until_s, 50_000)
    try:
        (verdict,) = connection.execute("PRAGMA quick_check(1)").fetchone()
    except sqlite3.OperationalError as error:
        if getattr(error, "sqlite_errorname", "") != "SQLITE_INTERRUPT":
            raise
        return
    finally:
        connection.set_progress_handler(None, 0)
    if verdict != "ok":
        raise InputRefused(
            f"{log} is damaged ({verdict.splitlines()[-1]}), so what the furnace did last is unknown. {_way_out(log)}"
        )


def _way_out(log: Path) -> str:
    """What a person can do about it: the newest copy that is kept beside it, or a new log."""
    copies = sorted(log.parent.glob(f"{log.stem}-layout-*{log.suffix}"))
    kept = f" {copies[-1].name} beside it is the newest copy that is kept." if copies else ""
    back = way_back(log.parent)
    move = f"{back} Or move" if back else "Move"
    return f"{move} it to a safe place: a new log begins, and asks for a reset at the furnace.{kept}"


def _kept_identity(
    connection: sqlite3.Connection, path: Path, kind: str, furnace: str, told: Identity | None
) -> Identity:
    row = connection.execute('SELECT kind, furnace, "key", openings FROM identity').fetchone()
    if row is not None:
        kept = Identity(*row)
        _refuse_a_stranger(path, kept, kind, furnace)
        return kept
    kept = Identity(kind, furnace, told.key if told else uuid.uuid4().hex, 0)
    connection.execute('INSERT INTO identity (id, kind, furnace, "key", openings) VALUES (1, ?, ?, ?, ?)', kept)
    return kept


def _past(kept: Identity, told: Identity | None) -> str | None:
    if told is None:
        return f"{IDENTITY_FILE} was missing beside the log, so nobody knows whether the log is this furnace's latest."
    if told.openings > 0 and kept.openings == 0:
        return "The log was missing; what the furnace did last is unknown."
    if told.key != kept.key:
        return "The log came from another data directory; what the furnace did last is unknown."
    if told.openings > kept.openings:
        return "The log is an older copy; what the furnace did since then is unknown."
    if kept.openings == 0 and kept.kind == "real":
        return "This log is new; what the furnace did before is unknown."
    return None


def _refuse_a_stranger(path: Path, identity: Identity, kind: str, furnace: str) -> None:
    if identity.kind != kind:
        raise InputRefused(f"{path} was born {identity.kind}; a {kind} furnace needs another data directory (--data).")
    if identity.furnace != furnace:
        raise InputRefused(
            f"{path} belongs to the furnace {identity.furnace!r}, not to {furnace!r}; name another directory (--data)."
        )


def read_identity(path: Path) -> Identity | None:
    """What the file beside a log says; None: there is none.

    Raises:
        InputRefused: it is damaged.
    """
    file = path / IDENTITY_FILE
    try:
        identity = Identity(**json.loads(file.read_text(encoding="utf-8")))
        if not isinstance(identity.openings, int):
            raise ValueError(f"openings is {identity.openings!r}; allowed: whole numbers")
        return identity
    except FileNotFoundError:
        return None
    except (ValueError, TypeError) as error:
        raise InputRefused(
            f"{file} is damaged ({error}). Move it to a safe place: the next start asks for a reset."
        ) from error


def write_identity(path: Path, identity: Identity) -> None:
    """Write the file beside a log, whole or not at all.

    Raises:
        OSError: it cannot be written.
    """
    new = path / f"{IDENTITY_FILE}.new"
    with new.open("w", encoding="utf-8") as file:
        json.dump(identity._asdict(), file, indent=1)
        file.write("\n")
        file.flush()
        os.fsync(file.fileno())
    new.replace(path / IDENTITY_FILE)
    database.sync_directory(path)
