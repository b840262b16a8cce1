"""Firings that an earlier run of the supervisor left without a closing record."""

from collections.abc import Sequence
from typing import NamedTuple

from supervisor.logbook.records import EventRow, FiringClosed

FOUND_OPEN = "found without closing record"
"""Kind of the event by which a later run of the supervisor records that a firing was never closed."""

PAST_UNKNOWN = "past-unknown"
"""Watch of the alarm that stands when the log cannot say what happened last. Only a reset at the furnace ends it."""


class LeftOpen(NamedTuple):
    """A firing that ended without its closing record: power cut, kill, crash."""

    firing_id: int
    name: str
    heat_number: str | None
    started_utc_ms: int
    last_t_ms: int  # of the last row that is known
    last_hot_junction_c: float | None
    recorded: bool  # an event says already that it was found so


def found_open(left: Sequence[LeftOpen]) -> list[EventRow]:
    """What a program writes as it starts, once for each firing that an earlier run left open."""
    return [
        EventRow(firing.firing_id, firing.last_t_ms, FOUND_OPEN, "supervisor", "start", {"name": firing.name})
        for firing in left
        if not firing.recorded
    ]


def closed_after_reset(left: Sequence[LeftOpen]) -> list[FiringClosed]:
    """What ends the wait of such firings, once the reset at the furnace was given: closed as interrupted."""
    cause = FOUND_OPEN
    return [FiringClosed(firing.firing_id, firing.last_t_ms, "interrupted", cause, {}) for firing in left]
