"""How often the program was begun anew of late without having ended well: counted beside the log, in `begun.json`.

A supervisor that is begun again and again may find the same trouble each time, or make it. The fourth time within ten
minutes it stays stopped until a press at the furnace.
"""

import json
import os
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from supervisor.logbook import database

FILE = "begun.json"
WITHIN_S = 600.0
MOST_RESTARTS = 3


class Restarts(NamedTuple):
    """What the file said as this run began."""

    restarts: int  # within the last ten minutes, this one included
    too_often: bool


class _Beginning(NamedTuple):
    boot_id: str
    monotonic_s: float
    utc_ms: int


def _is_recent(then: _Beginning, now: _Beginning) -> bool:
    """By the machine's own clock; over a boot the dates have to do."""
    if then.boot_id == now.boot_id:
        return 0.0 <= now.monotonic_s - then.monotonic_s <= WITHIN_S
    return now.monotonic_s <= WITHIN_S and 0 <= now.utc_ms - then.utc_ms <= WITHIN_S * 1000


@dataclass(slots=True)
class Counter:
    """The file in one data directory; the caller holds its lock."""

    path: Path

    def begin(self, boot_id: str, monotonic_s: float, utc_ms: int) -> Restarts:
        """Count this beginning. monotonic_s: of the machine, whatever the furnace's clock is.

        Raises:
            OSError: the file cannot be written.
        """
        begun, ended_well = self._read()
        now = _Beginning(boot_id, monotonic_s, utc_ms)
        recent = [] if ended_well else [each for each in begun if _is_recent(each, now)]
        self._write([*recent, now], ended_well=False)
        return Restarts(len(recent), len(recent) > MOST_RESTARTS)

    def end_well(self) -> None:
        """The program ends as it was asked to, or somebody has pressed: what was before counts no more.

        Raises:
            OSError: the file cannot be written.
        """
        self._write([], ended_well=True)

    def _read(self) -> tuple[list[_Beginning], bool]:
        """A file that is missing or damaged counts nothing: the log itself tells a cut firing."""
        try:
            kept = json.loads((self.path / FILE).read_text(encoding="utf-8"))
            begun = [_Beginning(str(boot), float(at_s), int(utc_ms)) for boot, at_s, utc_ms in kept["begun"]]
            return begun, bool(kept["ended_well"])
        except (OSError, ValueError, TypeError, KeyError):
            return [], True

    def _write(self, begun: list[_Beginning], *, ended_well: bool) -> None:
        new = self.path / f"{FILE}.new"
        with new.open("w", encoding="utf-8") as file:
            json.dump({"begun": begun[-20:], "ended_well": ended_well}, file)
            file.flush()
            os.fsync(file.fileno())
        new.replace(self.path / FILE)
        database.sync_directory(self.path)
