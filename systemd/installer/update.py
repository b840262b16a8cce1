"""Before another release is put in use: the furnace has to be cold and at rest, and what it knows is kept."""

import contextlib
import json
import os
import pwd
import shutil
import sqlite3
import subprocess
from pathlib import Path
from typing import Any

from hardware.clock import utc_ms
from systemd.installer.machine import CONFIGURATION, CURRENT, DATA, NotPossible

COLD_BELOW_C = 60.0
AT_REST = ("stopped", "idle", "complete", "aborted")
FORGOTTEN_AFTER_S = 24 * 3600.0
"""So long after the last record a furnace that nobody reads counts as cold by itself (our choice)."""
KEPT = (CONFIGURATION / "furnace.toml", DATA / "identity.json", DATA / "alerts.toml", DATA / "begun.json")
DATABASES = ("book.db", "furnace.db")  # the book first: what it points at is then in the other


def refuse_while_hot(*, looked: bool) -> str:
    """Why another release may be put in use now.

    looked: a person has looked at a furnace of which the program knows nothing.

    Raises:
        NotPossible: it is hot, a firing is open, or nobody knows.
    """
    snapshot = _snapshot()
    if snapshot is not None:
        return _judge(snapshot)
    if _is_active():
        if not looked:
            raise NotPossible(
                "The supervisor is there and does not answer, so nobody knows how hot the furnace is. Look at it. If it"
                " is cold, with no metal that could be liquid, run this again with --looked-cold."
            )
        return "Somebody has looked and says that it is cold."
    return _by_the_log(looked=looked)


def _judge(snapshot: dict[str, Any]) -> str:
    hot_c, state = snapshot["hot_junction"]["c"], snapshot["state"]
    if snapshot["left_open"]:
        raise NotPossible(f"{snapshot['left_open']} Reset it at the furnace first, then run this again.")
    if state not in AT_REST:
        raise NotPossible(f"The furnace is {state}. Nothing is replaced in a firing: run this again when it is cold.")
    if hot_c is None or snapshot["hot_junction"].get("fault") is not None:  # then c is the last one that it read
        raise NotPossible("The furnace's sensor does not read, so nobody knows how hot it is. Mend that first.")
    if not hot_c < COLD_BELOW_C:
        raise NotPossible(
            f"The chamber reads {hot_c:.0f} °C; allowed: below {COLD_BELOW_C:.0f} °C. Nothing was replaced: run this"
            " again when it is cold."
        )
    return f"The chamber reads {hot_c:.0f} °C and the furnace is {state}."


def _snapshot() -> dict[str, Any] | None:
    """What the supervisor in use says; None: nothing, or something old."""
    command = [str(CURRENT / ".venv/bin/meltkeeper"), "status", "--json", "--data", str(DATA)]
    with contextlib.suppress(OSError, ValueError, subprocess.TimeoutExpired):
        done = subprocess.run(command, capture_output=True, text=True, timeout=30, check=False)
        if done.returncode == 0:
            snapshot = json.loads(done.stdout)
            return snapshot if isinstance(snapshot, dict) else None
    return None


def _is_active() -> bool:
    with contextlib.suppress(OSError):
        return subprocess.run(["systemctl", "--quiet", "is-active", "meltkeeper"], check=False).returncode == 0
    return False


def _by_the_log(*, looked: bool) -> str:
    """The supervisor is stopped: what its log says."""
    log = DATA / "furnace.db"
    if not log.exists():
        return "There is no log: nothing was ever fired here."
    try:
        with contextlib.closing(sqlite3.connect(f"{log.as_uri()}?mode=ro", uri=True)) as connection:
            left = connection.execute("SELECT name FROM firing WHERE state IS NULL").fetchone()
            last = connection.execute(
                "SELECT s.hot_junction_c, f.started_utc_ms + s.t_ms FROM sample s JOIN firing f ON f.id = s.firing_id"
                " ORDER BY s.id DESC LIMIT 1"
            ).fetchone()
    except sqlite3.Error as error:
        left, last, problem = None, None, f"{log} cannot be read ({error})"
    else:
        problem = ""
    if left is not None:
        problem = f"The firing {left[0]} has no closing record"
    elif last is not None and not (last[0] is not None and last[0] < COLD_BELOW_C):
        ago_s = (utc_ms() - last[1]) / 1000
        if not ago_s > FORGOTTEN_AFTER_S:
            reading = "no reading" if last[0] is None else f"{last[0]:.0f} °C"
            problem = f"The supervisor is stopped, and its last record is {reading}, {ago_s / 3600:.1f} h ago"
    if problem and not looked:
        raise NotPossible(
            f"{problem}. Start the supervisor (sudo systemctl start meltkeeper) and run this again when it shows a cold"
            " furnace at rest. If it cannot start: look at the furnace, and if it is cold, with no metal that could be"
            " liquid, run this again with --looked-cold."
        )
    return "Somebody has looked and says that it is cold." if problem else "By the log nothing is open and it is cold."


def keep_a_backup(release: str) -> Path:
    """Copy log, book and furnace file beside the data, whole; the directory.

    Raises:
        NotPossible: they could not be copied; nothing was replaced.
    """
    kept = DATA / f"before-{release}"
    made = kept.with_name(f"{kept.name}.new")
    try:
        shutil.rmtree(made, ignore_errors=True)
        made.mkdir(mode=0o700)
        for name in DATABASES:
            if (DATA / name).exists():
                _copy(DATA / name, made / name)
        for path in KEPT:
            if path.exists():
                shutil.copy2(path, made / path.name)
        owner = pwd.getpwnam("meltkeeper")
        for path in (made, *made.iterdir()):
            os.chown(path, owner.pw_uid, owner.pw_gid)
        shutil.rmtree(kept, ignore_errors=True)
        made.replace(kept)
    except (OSError, sqlite3.Error) as error:
        shutil.rmtree(made, ignore_errors=True)
        raise NotPossible(f"The backup could not be made in {kept} ({error}). Nothing was replaced.") from error
    return kept


def _copy(file: Path, copy: Path) -> None:
    """A copy of a database as of one moment, also while it is being written."""
    with (
        contextlib.closing(sqlite3.connect(f"{file.as_uri()}?mode=ro", uri=True)) as source,
        contextlib.closing(sqlite3.connect(copy)) as target,
    ):
        source.backup(target)
        (verdict,) = target.execute("PRAGMA quick_check(1)").fetchone()
    if verdict != "ok":
        raise sqlite3.DatabaseError(f"the copy of {file.name} is damaged: {verdict}")
