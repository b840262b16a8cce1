"""What a plan is made of: a lot or an ingot with everything that matters before it goes into the pot."""

from dataclasses import dataclass

from supervisor.metal.composition import Composition
from supervisor.metal.dryness import Proof
from supervisor.metal.forms import CHIPS
from supervisor.metal.mix import Part

SURE_FOR_THE_GATE = ("measured", "marked", "likely", "estimated")
"""How sure one must be of an alloy for its solidus to be believed; a guess counts as unknown."""

IN_THE_POT = "in the pot"
"""Origin of what an earlier melt left in the pot: it is in there already."""


@dataclass(frozen=True, slots=True)
class Item:
    """So much of a lot, or an ingot."""

    name: str  # 'L-28', 'A-092/2'
    words: str  # 'plate ends'
    kg: float
    left_kg: float  # of the lot or ingot, before this
    form: str
    alloy: str  # a row of the table, or 'unknown'
    certainty: str
    composition: Composition
    solidus_c: float | None  # as the table has it, or the lowest of what an ingot was made from
    density_g_cm3: float
    origin: str  # a key of ORIGINS, 'ingot', or IN_THE_POT
    surface: str
    shape: str
    longest_mm: float | None  # its longest piece
    proof: Proof | None
    quarantine: str  # why it may not be charged; empty: it may

    @property
    def part(self) -> Part:
        """For the balance."""
        return Part(self.name, self.kg, self.form, self.composition)

    @property
    def sure_solidus_c(self) -> float | None:
        """The solidus that the gate may go by; None: the metal counts as unknown."""
        return self.solidus_c if self.certainty in SURE_FOR_THE_GATE else None

    @property
    def chips(self) -> bool:
        """Fine metal."""
        return self.form in CHIPS


ORIGINS = {
    "window": ("window or door frame", "6060", "extrusion with grooves"),
    "plate": ("machine plate, jig, frame", "6082", "sawn plate and bar"),
    "bright_bar": ("bright turned bar ends", "2011", "free-cutting bar often holds lead or bismuth"),
    "boat": ("boat, tank, tread plate", "5083", ""),
    "housing": ("gearbox, engine, housing", "A380.0", "die castings"),
    "wheel": ("wheel, cylinder head", "A356.0", ""),
    "pan": ("pan, foil, tube", "1100", ""),
    "sheet": ("sheet metal work", "5052", ""),
    "aircraft": ("aircraft part", "2024", "may hold lithium, beryllium or magnesium"),
    "machining": ("my own machining", "unknown", "chips and ends of known bar"),
    "bought": ("bought as ingot or bar", "unknown", ""),
    "other": ("something else", "unknown", ""),
}
"""Where scrap comes from: the words, the alloy that it usually is, a remark. Common practice, no source: a guess."""
