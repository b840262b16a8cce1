"""Forms of scrap: how much of each is metal, and how much of the metal comes through the melt.

The numbers are our own, chosen inside what the trade reports (pot furnaces 4 to 6 % over all, clean off-cuts 0.5 to 2,
thin sheet 5 to 15, dry chips 5 to 12: all from memory). They are no measurements; a person's own melts replace them.
"""

from typing import NamedTuple


class Form(NamedTuple):
    """One form of scrap. Each figure is a share of the mass, 0 to 1."""

    words: str
    clean: float  # of what is weighed, metal: the rest is dirt, oil, paint
    aluminium: float  # recovered, of what is in it
    magnesium: float
    zinc: float
    others: float
    fills: float  # of the volume that a loose heap takes up, so much is metal

    def recovery(self, element: str) -> float:
        """The share of an element that is in the melt afterwards, 0 to 1."""
        return {"Al": self.aluminium, "Mg": self.magnesium, "Zn": self.zinc}.get(element, self.others)


FORMS = {
    "solid_offcut": Form("solid off-cuts", 1.00, 0.985, 0.95, 0.98, 1.00, 0.40),
    "old_casting": Form("castings", 0.98, 0.975, 0.92, 0.98, 1.00, 0.30),
    "thin_sheet": Form("sheet, thin extrusion", 0.97, 0.94, 0.85, 0.96, 1.00, 0.20),
    "swarf_dry": Form("chips, dry", 0.99, 0.90, 0.80, 0.95, 1.00, 0.08),
    "swarf_oily": Form("chips, oily", 0.88, 0.85, 0.70, 0.93, 1.00, 0.08),
    "pure_addition": Form("pure metal, master alloy", 1.00, 1.00, 0.90, 0.95, 1.00, 0.40),
    "ingot": Form("ingot", 1.00, 0.985, 0.95, 0.98, 1.00, 0.60),
}
"""By name. An ingot melts as a solid off-cut does.

Loose scrap fills 20 to 40 % of its volume, chips 5 to 10 % (common practice, no source); the rest is air.
"""

CHIPS = ("swarf_dry", "swarf_oily")
"""Fine metal: much surface, much oxide; burns when oily, holds water."""

NO_LOSS = Form("as it is", 1.0, 1.0, 1.0, 1.0, 1.0, 1.0)
"""The form 'none', for sums without a furnace: nothing is lost."""
