"""The backups that there are: what each says of itself, and which is the last good one."""

import contextlib
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

from supervisor.refusal import InputRefused

MANIFEST = "backup.json"
FOLDER = "backups"
"""Where they lie in a data directory when nobody names another place."""


class Backup(NamedTuple):
    """A backup as its own list of contents describes it."""

    path: Path
    made_utc_ms: int
    furnace: str
    kind: str  # simulated, real
    files: dict[str, str]  # name in the backup, SHA-256
    log: dict[str, Any] | None  # as `melts verify` found the copy: rows, unsealed, seals, fault, digest
    book: dict[str, Any] | None
    fault: str  # what was altered in the records before they were copied; empty: nothing

    @property
    def made(self) -> str:
        """When, in a person's words."""
        return f"{datetime.fromtimestamp(self.made_utc_ms / 1000, UTC).astimezone():%Y-%m-%d %H:%M}"


def backups(into: Path) -> list[Backup]:
    """Every backup in a directory, the newest first. What is no whole backup is not among them."""
    found = []
    for folder in into.iterdir() if into.is_dir() else ():
        with contextlib.suppress(InputRefused):
            found.append(described(folder))
    return sorted(found, key=lambda each: each.made_utc_ms, reverse=True)


def last_good(data: Path) -> Backup | None:
    """The newest backup beside the records in which nothing was altered."""
    with contextlib.suppress(OSError):
        return next((each for each in backups(data / FOLDER) if not each.fault), None)
    return None


def described(path: Path) -> Backup:
    """What a backup says of itself; its files are not looked at.

    Raises:
        InputRefused: it is no backup.
    """
    try:
        kept = json.loads((path / MANIFEST).read_text(encoding="utf-8"))
        return Backup(path, **{name: kept[name] for name in Backup._fields[1:]})
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise InputRefused(f"{path} is no backup: its {MANIFEST} cannot be read ({error}).") from error


def way_back(data: Path) -> str:
    """What to do where a file of the records cannot be opened: the last good backup, in a sentence; empty: none."""
    found = last_good(data)
    return f"The last good backup is of {found.made}; `meltkeeper restore {found.path}` puts it back." if found else ""
