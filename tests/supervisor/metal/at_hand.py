"""An item for a plan, with everything in order unless a test says otherwise. All data are invented."""

from typing import Any

from supervisor.metal import density
from supervisor.metal.alloys import table
from supervisor.metal.composition import of_alloy
from supervisor.metal.dryness import Proof
from supervisor.metal.item import Item

NOW_MS = 1_790_000_000_000
HOUR_MS = 3_600_000
DRY = Proof(NOW_MS - HOUR_MS, 160.0, 7200.0, "")


def item(kg: float = 1.0, alloy: str = "6082", **changes: Any) -> Item:
    certainty, measured = changes.pop("certainty", "marked"), changes.pop("measured", None)
    row = table().get(alloy)
    given: dict[str, Any] = {
        "name": "L-1",
        "words": "plate ends",
        "kg": kg,
        "left_kg": 10.0,
        "form": "solid_offcut",
        "alloy": alloy,
        "certainty": certainty,
        "composition": of_alloy(alloy, certainty, measured),
        "solidus_c": None if row is None else row.solidus_c,
        "density_g_cm3": density.of_alloy(alloy),
        "origin": "plate",
        "surface": "bare",
        "shape": "solid",
        "longest_mm": 60.0,
        "proof": DRY,
        "quarantine": "",
    }
    return Item(**{**given, **changes})
