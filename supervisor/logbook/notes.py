"""What people noted of the metal in each firing: found by the index of notes, however long the log has grown."""

from typing import NamedTuple

from supervisor.logbook.reading import Log


class Noted(NamedTuple):
    """One such note."""

    t_ms: int  # of its firing
    kind: str  # pour, addition, mould
    mass_kg: float | None


def of_metal(log: Log) -> dict[int, list[Noted]]:
    """Those of every firing, oldest first."""
    found: dict[int, list[Noted]] = {}
    rows = log.rows(
        "SELECT firing_id, t_ms, json_extract(detail, '$.kind') AS kind, json_extract(detail, '$.mass_kg') AS kg"
        " FROM event WHERE kind = 'note' AND json_extract(detail, '$.kind') IN ('pour', 'addition', 'mould')"
        " AND firing_id > 0 ORDER BY firing_id, id"  # said so, the index is used
    )
    for row in rows:
        found.setdefault(row["firing_id"], []).append(Noted(row["t_ms"], row["kind"], row["kg"]))
    return found
