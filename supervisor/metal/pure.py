"""Pure magnesium and zinc: never in a charge, last of all, and each with its caution; the words stand here once."""

from supervisor.metal.composition import Composition

PURE_PCT = 50.0
"""With more of it than this it is called pure (our choice)."""

MAGNESIUM_LAST = "Magnesium: wrapped, held under the liquid, 690 to 720 °C, last; on top it burns."
MAGNESIUM_GLARES = "Dry sand within reach; white glare: step back, heat off, never water. No flux with sodium"
ZINC_FUMES = "Outdoors or strong extraction; stay out of the plume; no hotter than the pour asks for"

CAUTIONS = {
    "Mg": f"{MAGNESIUM_LAST} {MAGNESIUM_GLARES}.",
    "Zn": f"Zinc fume, chills and fever hours later. {ZINC_FUMES}.",
}
"""By element, for whoever is about to add it."""


def pure_in(inside: Composition) -> str:
    """Magnesium or zinc, if metal is mostly that; empty: it is neither. Of unknown metal a part may be measured."""
    found = inside.likely or inside.low
    return next((each for each in CAUTIONS if found.get(each, 0.0) > PURE_PCT), "")
