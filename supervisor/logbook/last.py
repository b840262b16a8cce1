"""What was the last of its kind in a log: for pages that show a date beside a name."""

import json
from typing import Any

from supervisor.logbook.reading import Log

NEWEST_EVENTS = 20_000
"""So far back one looks for the last of a kind: a list of all would be read from end to end."""


def last_spoken(log: Log) -> dict[str, int]:
    """When each watch was last raised, ms of UTC: alarms of any time, silent findings of the newest events."""
    alarms = log.rows("SELECT watch, max(utc_ms) AS utc_ms FROM alarm WHERE step = 'raised' GROUP BY watch")
    findings = log.rows(
        "SELECT json_extract(detail, '$.watch') AS watch, max(utc_ms) AS utc_ms FROM"
        " (SELECT * FROM event ORDER BY id DESC LIMIT ?)"
        " WHERE kind = 'finding' AND json_extract(detail, '$.step') = 'raised' GROUP BY 1",
        NEWEST_EVENTS,
    )
    return {str(row["watch"]): int(row["utc_ms"]) for row in (*findings, *alarms)}


def last_events(log: Log, kind: str, *, limit: int = 20) -> list[dict[str, Any]]:
    """The newest events of one kind among the newest events, the newest first."""
    rows = log.rows(
        "SELECT * FROM (SELECT * FROM event ORDER BY id DESC LIMIT ?) WHERE kind = ? ORDER BY id DESC LIMIT ?",
        NEWEST_EVENTS,
        kind,
        limit,
    )
    return [{**dict(row), "detail": json.loads(row["detail"])} for row in rows]
