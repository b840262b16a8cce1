"""What people noted of the metal in each firing: found by the index of notes, however long the log has grown."""

from collections.abc import Collection
from typing import NamedTuple

from supervisor.logbook.reading import Log


class Noted(NamedTuple):
    """One such note."""

    t_ms: int  # of its firing
    kind: str  # pour, addition, mould
    mass_kg: float | None


def of_metal(log: Log, firings: Collection[int]) -> dict[int, list[Noted]]:
    """Those of some firings, oldest first."""
    found: dict[int, list[Noted]] = {}
    rows = log.rows(
        "SELECT firing_id, t_ms, json_extract(detail, '$.kind') AS kind, json_extract(detail, '$.mass_kg') AS kg"
        " FROM event WHERE kind = 'note' AND json_extract(detail, '$.kind') IN ('pour', 'addition', 'mould')"
        " AND firing_id BETWEEN ? AND ? ORDER BY firing_id, id",  # said so, the index is used
        *(min(firings, default=0), max(firings, default=0)),
    )
    for firing_id, *noted in rows:
        found.setdefault(firing_id, []).append(Noted._make(noted))
    return found
