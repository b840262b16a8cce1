"""A firing as a table for any other program."""

import csv
from functools import cache
from typing import TextIO

from hardware.ports import Inputs
from supervisor.logbook.inputs import input_levels
from supervisor.logbook.reading import SAMPLE_COLUMNS, Log

CSV_COLUMNS = (*SAMPLE_COLUMNS, *Inputs._fields)
"""t_s to raw_word as recorded, then each input line in words: closed, open, not fitted."""


def write_csv(log: Log, firing_id: int, file: TextIO) -> int:
    """Write every sample of a firing as CSV (RFC 4180), and tell how many. Floats read back to the same bits."""
    rows = log.samples(firing_id)
    table = csv.writer(file)
    table.writerow(CSV_COLUMNS)
    place = SAMPLE_COLUMNS.index("inputs")
    table.writerows((*row, *_words(row[place])) for row in rows)
    return len(rows)


@cache
def _words(inputs: int) -> tuple[str, ...]:
    return tuple(level.value for level in input_levels(inputs).values())
