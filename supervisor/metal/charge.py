"""What the supervisor needs to know of the metal: frozen into the firing at its start."""

from dataclasses import dataclass
from typing import NamedTuple


@dataclass(frozen=True, slots=True)
class Charge:
    """Metal that goes into the pot. Unknown metal has no solidus: None."""

    mass_kg: float
    alloy: str  # a row of the alloy table, or 'unknown'
    form: str  # off-cuts, ingot, castings, chips, ...
    solidus_c: float | None
    liquidus_c: float | None


class Planned(NamedTuple):
    """A charge that was planned and weighed: it stands in the place of the one that a profile file names."""

    charge: Charge
    pour_c: float  # coldest metal that may be poured
    dry_for_s: float | None = None  # from when it is prepared: so long its proofs of dryness last; None: nobody said
