"""Firings of six hours as the log has them, made up: to fill a log with years, and to be sealed and verified."""

from math import sin
from pathlib import Path

from supervisor.logbook import scribe as scribes
from supervisor.logbook.directory import open_directory
from supervisor.logbook.records import (
    CommandRow,
    EstimateRow,
    EventRow,
    FiringClosed,
    FiringOpened,
    Record,
    SampleRow,
)
from supervisor.logbook.scribe import Scribe

HOURS = 6
END_MS = HOURS * 3_600_000
DAY_MS = 86_400_000
BEGAN_UTC_MS = 1_700_000_000_000
EVENTS_PER_H = 20


def fired(data: Path, firings: int) -> None:
    """Write so many firings through the scribe, sealed in batches of ten seconds as at a furnace."""
    now = [BEGAN_UTC_MS]
    with (
        open_directory(data, backend="simulated", furnace="workshop") as kept,
        Scribe(kept, boot_id="boot", utc_ms=lambda: now[0], threaded=False) as scribe,
    ):
        scribe._batch_ms = scribes.BATCH_MS  # as on a real clock
        connection = scribe._writer._connection
        assert connection is not None
        connection.execute("PRAGMA synchronous = OFF")  # how fast a disk is does not matter here
        for number in range(1, firings + 1):
            now[0] = BEGAN_UTC_MS + number * DAY_MS
            scribe.put([_opened(number)])
            for second in range(END_MS // 1000):
                scribe.put(_second(number, second))
            scribe.put([FiringClosed(number, END_MS, "complete", None, {"peak_c": 764.0, "energy_wh": 3120.0})])


def _opened(number: int) -> FiringOpened:
    frozen = {"charge": {"mass_kg": 2.0, "alloy": "6082", "form": "solid_offcut"}, "top_c": 820.0, "version": "0"}
    name = f"A-{number:03}"
    return FiringOpened(number, 100.0, name, name, "Ingots, 2 kg", frozen, "simulated")


def _second(number: int, second: int) -> list[Record]:
    """What the log gets in one second."""
    t_ms = 1000 * second
    chamber_c = 760.0 * min(1.0, second / 5400) + 2.25 * sin(second / 40)
    reading_c, word, wave = round(4 * chamber_c) / 4, 0x1900_1F00 + second, round(sin(second / 17), 4)
    duty, energy_wh = round(0.5 + 0.4 * sin(second / 90), 4), second / 7
    of_c = (reading_c, 31.0625, round(chamber_c, 2))
    rest = (duty, energy_wh, 5592405, "running", word, wave, round(chamber_c, 4), None, 5)
    rows: list[Record] = [SampleRow._make((number, t_ms, *of_c, *rest))]
    if second % 60 == 59:
        share = min(1.0, t_ms / END_MS)
        bands = (640.5, 631.25, 650.0, share / 2, share, 1.0, 12.5, 15.25, 19.0)
        rows.append(EstimateRow(number, t_ms, "melting", *bands, True, "metal cold", 800.0, ""))
    if second % (3600 // EVENTS_PER_H) == 0:
        detail = {"kind": "remark", "text": f"after {second // 60} minutes"}
        kind = "note" if second % 3600 == 0 else "press"  # an hour's remark among questions that were answered
        rows.append(EventRow(number, t_ms, kind, "somebody", "page", detail))
        rows.append(CommandRow(number, t_ms, f"{number}-{second}", "note", "somebody", "page", True, "Noted.", detail))
    return rows
