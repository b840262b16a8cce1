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


@dataclass(slots=True)
class Counter:
    """The file in one data directory; the caller holds its lock."""

    path: Path

    def begin(self, boot_id: str, monotonic_s: float) -> Restarts:
        """Count this beginning. monotonic_s: of the machine, whatever the furnace's clock is.

        Raises:
            OSError: the file cannot be written.
        """
        begun, ended_well = self._read()
        recent = [
            (boot, at_s)
            for boot, at_s in begun
            # Of another boot nobody knows when; a machine that has just started may have been failing all along.
            if (monotonic_s - at_s <= WITHIN_S and at_s <= monotonic_s if boot == boot_id else monotonic_s <= WITHIN_S)
        ]
        if ended_well:
            recent = []
        restarts = len(recent)
        self._write([*recent, (boot_id, monotonic_s)], ended_well=False)
        return Restarts(restarts, restarts > MOST_RESTARTS)

    def end_well(self) -> None:
        """The program ends as it was asked to, or somebody has pressed: what was before counts no more.

        Raises:
            OSError: the file cannot be written.
        """
        self._write([], ended_well=True)

    def _read(self) -> tuple[list[tuple[str, float]], bool]:
        """A file that is missing or damaged counts nothing: the log itself tells a cut firing."""
        try:
            kept = json.loads((self.path / FILE).read_text(encoding="utf-8"))
            return [(str(boot), float(at_s)) for boot, at_s in kept["begun"]], bool(kept["ended_well"])
        except (OSError, ValueError, TypeError, KeyError):
            return [], True

    def _write(self, begun: list[tuple[str, float]], *, ended_well: bool) -> None:
        new = self.path / f"{FILE}.new"
        with new.open("w", encoding="utf-8") as file:
            json.dump({"begun": begun[-20:], "ended_well": ended_well}, file)
            file.flush()
            os.fsync(file.fileno())
        new.replace(self.path / FILE)
        database.sync_directory(self.path)
