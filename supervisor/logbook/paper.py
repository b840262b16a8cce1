"""Past melts from paper: firings of which nothing is known but what somebody wrote down; no samples, and marked so.

They are written through the same scribe as any firing, while no supervisor runs. Nothing is learned from them, and what
the furnace did last is never asked of them.
"""

import contextlib
import json
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import NamedTuple

from supervisor.logbook.directory import IDENTITY_FILE, open_directory
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import PAPER, EventRow, FiringClosed, FiringOpened, Record
from supervisor.logbook.scribe import Scribe
from supervisor.refusal import InputRefused


class PaperFiring(NamedTuple):
    """A melt as a paper book tells it."""

    heat_number: str
    day: date
    minutes: float | None
    energy_wh: float | None
    note: str


def write_firings(path: Path, firings: list[PaperFiring], who: str) -> None:
    """Write firings of paper into the log of a data directory; one that is in it already is left as it is.

    Raises:
        InputRefused: there is no such directory, a supervisor runs on it, or a heat number was fired there.
    """
    try:
        kept = json.loads((path / IDENTITY_FILE).read_text(encoding="utf-8"))
        kind, furnace = str(kept["kind"]), str(kept["furnace"])
    except (OSError, ValueError, KeyError) as error:
        raise InputRefused(
            f"{path} is no data directory yet: start its furnace once, or name another one (--data)."
        ) from error
    with open_directory(path, backend=kind, furnace=furnace) as directory:
        first, missing = _missing(path, firings)
        now = _Day()
        with contextlib.closing(Scribe(directory, boot_id=PAPER, utc_ms=now, threaded=False)) as scribe:
            for number, firing in enumerate(missing, first):
                now.utc_ms = noon_ms(firing.day)
                scribe.clock(0.0, now.utc_ms, "person")
                scribe.put(_records(number, firing, who))
            if scribe.trouble:
                raise InputRefused(f"{path} cannot be written: {scribe.trouble}")


class _Day:
    """The clock of the scribe: noon of the day that is being entered."""

    def __init__(self) -> None:
        self.utc_ms = 0

    def __call__(self) -> int:
        return self.utc_ms


def noon_ms(day: date) -> int:
    """Noon of a day where the machine stands, ms of UTC: paper knows no hour."""
    return round(datetime.combine(day, time(12)).astimezone().astimezone(UTC).timestamp() * 1000)


def _missing(path: Path, firings: list[PaperFiring]) -> tuple[int, list[PaperFiring]]:
    """The next number, and the firings that are not in the log yet: an entry that was cut short is taken up again."""
    with open_log(path) as log:
        known = {firing.heat_number: firing.backend for firing in log.firings()}
        first = log.next_firing_id()
    for firing in firings:
        if known.get(firing.heat_number, PAPER) != PAPER:
            raise InputRefused(f"heat_number is {firing.heat_number!r}; it was fired here. A heat number is used once.")
    return first, [firing for firing in firings if firing.heat_number not in known]


def _records(number: int, firing: PaperFiring, who: str) -> list[Record]:
    t_ms = round(60_000 * (firing.minutes or 0.0))
    results = {"from": PAPER, "energy_wh": firing.energy_wh}
    frozen = {"from": PAPER, "note": firing.note}
    return [
        FiringOpened(number, 0.0, firing.heat_number, firing.heat_number, "from paper", frozen, PAPER),
        EventRow(number, 0, "entered from paper", who, "command line", {"note": firing.note}),
        FiringClosed(number, t_ms, "complete", None, results),
    ]
