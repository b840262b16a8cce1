"""Sludge: heavy crystals of iron, manganese and chromium that settle in a pot that stands too cool: hard spots."""

from collections.abc import Mapping

CAREFUL_PCT = 1.4
"""Of the sludge factor: above it nothing should stand near 650 °C (from memory: 1.8 is customary, 1.4 cautious)."""

CAST_SI_PCT = 5.0
"""It is a matter of casting alloys: with less silicon nobody speaks of it (our choice)."""

REDISSOLVES_C = 700.0
"""Above this it goes back into solution (from memory)."""


TRACE_PCT = 0.02
"""Of chromium: less counts as none (our choice)."""


def factor_pct(likely: Mapping[str, float]) -> float:
    """Fe + 2 Mn + 3 Cr, wt%: the customary sum."""
    return likely.get("Fe", 0.0) + 2.0 * likely.get("Mn", 0.0) + 3.0 * likely.get("Cr", 0.0)


def begins_c(likely: Mapping[str, float]) -> float | None:
    """Below so many °C sludge falls out, by what was measured on AlSi11Cu2Fe; None: another metal, or below 630 °C.

    Without chromium: Fe + (3.34 - (T - 630) / 714) Mn = 2.39 + (T - 630) / 152. With some, at 1.0 % iron:
    Mn + (4.00 + (T - 630) / 333) Cr = 0.40 + (T - 630) / 500. Solved for T. Source: Osame et al., Journal of Japan
    Institute of Light Metals 36 (1986) 813, abstract; how far from that alloy it is used is our choice.
    """
    silicon, copper, iron, manganese, chromium = (likely.get(each, 0.0) for each in ("Si", "Cu", "Fe", "Mn", "Cr"))
    if not (9.5 <= silicon <= 12.0 and 1.5 <= copper <= 3.5):
        return None
    if chromium < TRACE_PCT:
        over_k = (iron + 3.34 * manganese - 2.39) / (1 / 152 + manganese / 714)
    elif abs(iron - 1.0) <= 0.1 and chromium < 0.5:
        over_k = (manganese + 4.00 * chromium - 0.40) / (1 / 500 - chromium / 333)
    else:
        return None
    return 630.0 + over_k if over_k > -0.5 else None
