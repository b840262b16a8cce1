"""Whether a furnace is known to be cold and at rest: what the records are made of is changed only then."""

from contextlib import suppress
from pathlib import Path

from supervisor.link.client import SOCKET_NAME, Link, LinkSilent
from supervisor.logbook.place import is_being_written
from supervisor.logbook.rest import COLD_BELOW_C, seen_cold

AT_REST = ("stopped", "idle", "complete", "aborted")


def is_cold(data: Path, utc_ms: int) -> bool:
    """Ask the supervisor, or the log where none runs. Unknown is not cold. utc_ms: now."""
    if not is_being_written(data):
        return seen_cold(data, utc_ms)
    with suppress(LinkSilent, KeyError, TypeError):
        shown = Link(data / SOCKET_NAME).snapshot()
        reading_c = shown["hot_junction"]["c"]
        known = shown["hot_junction"]["fault"] is None and reading_c is not None
        return known and shown["state"] in AT_REST and reading_c < COLD_BELOW_C
    return False
