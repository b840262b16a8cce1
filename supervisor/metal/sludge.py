"""Sludge: heavy crystals of iron, manganese and chromium that settle in a pot that stands too cool: hard spots."""

from collections.abc import Mapping

CAREFUL_PCT = 1.4
"""Of the sludge factor: above it nothing should stand near 650 °C (from memory: 1.8 is customary, 1.4 cautious)."""

CAST_SI_PCT = 5.0
"""It is a matter of casting alloys: with less silicon nobody speaks of it (our choice)."""

REDISSOLVES_C = 700.0
"""Above this it goes back into solution (from memory)."""


def factor_pct(likely: Mapping[str, float]) -> float:
    """Fe + 2 Mn + 3 Cr, wt%: the customary sum."""
    return likely.get("Fe", 0.0) + 2.0 * likely.get("Mn", 0.0) + 3.0 * likely.get("Cr", 0.0)


def manganese_limit_pct(iron_pct: float, at_c: float) -> float:
    """Above so much manganese sludge falls out of AlSi11Cu2Fe without chromium at this temperature, wt%.

    Fe + (3.34 - (T - 630) / 714) Mn = 2.39 + (T - 630) / 152. Source: Osame et al., Journal of Japan Institute of Light
    Metals 36 (1986) 813, abstract.
    """
    return (2.39 + (at_c - 630.0) / 152.0 - iron_pct) / (3.34 - (at_c - 630.0) / 714.0)


def manganese_limit_with_chromium_pct(chromium_pct: float, at_c: float) -> float:
    """The same with 1.0 % iron and some chromium: Mn + (4.00 + (T - 630) / 333) Cr = 0.40 + (T - 630) / 500."""
    return 0.40 + (at_c - 630.0) / 500.0 - (4.00 + (at_c - 630.0) / 333.0) * chromium_pct
