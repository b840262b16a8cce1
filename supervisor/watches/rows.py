"""The fault table: everything that is known to go wrong with such a furnace, noticed by a watch or not.

Which rows a watch can notice, with what fitted, and in what time, was written down before any of it was measured. The
Equipment page says from here what cannot be noticed, `meltkeeper drill` measures the rest, docs/faults.md shows all.
"""

from supervisor.watches import rows_around, rows_heat, rows_pot, rows_sensor
from supervisor.watches.row import Fitted, Injected, Moment, Row

FAMILIES = {
    "Sensor": rows_sensor.ROWS,
    "Heat and chain": rows_heat.ROWS,
    "Lid, metal and lining": rows_pot.ROWS,
    "People, computer and network": rows_around.ROWS,
}

ROWS: dict[str, Row] = {name: row for rows in FAMILIES.values() for name, row in rows.items()}

__all__ = ["FAMILIES", "ROWS", "Fitted", "Injected", "Moment", "Row"]
