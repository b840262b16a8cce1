"""Densities: of alloys and mixes, solid and liquid, and of a piece that was weighed dry and in water."""

from math import isfinite

from supervisor.metal.alloys import table
from supervisor.refusal import InputRefused

PURE_G_CM3 = 2.70
"""Pure aluminium at 20 °C, as the sums of the trade take it."""

UNKNOWN_G_CM3 = 2.75
"""Of an aluminium alloy that nobody knows: about the middle of the table's 2.62 to 2.83."""

AT_MELTING_KG_M3, PER_K, MELTING_K = 2377.2, 0.311, 933.47
"""Liquid aluminium. Source: Assael et al., J. Phys. Chem. Ref. Data 35 (2006) 285: 2377.23 - 0.311 (T - 933.47)."""

WATER_G_CM3 = 0.998  # at 20 °C (CRC Handbook)


def of_alloy(name: str) -> float:
    """Density of an alloy of the table at 20 °C, g/cm³; of an unknown one the middle of the table."""
    return table()[name].density_g_cm3 if name in table() else UNKNOWN_G_CM3


def liquid_g_cm3(at_c: float, solid_g_cm3: float = PURE_G_CM3) -> float:
    """Density of the liquid, g/cm³: pure aluminium's, scaled by alloy over pure in the solid (our proposal)."""
    pure = (AT_MELTING_KG_M3 - PER_K * (at_c + 273.15 - MELTING_K)) / 1000.0
    return pure * solid_g_cm3 / PURE_G_CM3


def weighed_in_water(dry_g: float, in_water_g: float) -> float:
    """Density of a piece, g/cm³, from its weight dry and hanging in water. It is wet now: dry it again.

    Raises:
        InputRefused: weights that cannot be.
    """
    if not (isfinite(dry_g) and dry_g > 0.0):
        raise InputRefused(f"dry_g is {dry_g:g}; allowed: above 0 g")
    if not 0.0 <= in_water_g < dry_g:
        raise InputRefused(f"in_water_g is {in_water_g:g}; allowed: 0 to less than the {dry_g:g} g of the dry piece")
    return dry_g / (dry_g - in_water_g) * WATER_G_CM3


def looks_like(g_cm3: float) -> str:
    """What a density says of a silvery piece, in words; alloys of aluminium overlap."""
    if g_cm3 < 2.0:
        return "magnesium alloy, or hollow: never melt it"
    if g_cm3 < 2.55:
        return "hollow or porous, or lithium-bearing: do not melt it"
    if g_cm3 > 3.2:
        return "not an aluminium alloy: zinc, or a steel insert"
    near = [name for name, row in table().items() if abs(row.density_g_cm3 - g_cm3) <= 0.015]
    return f"aluminium alloy; by density alone {', '.join(near)}" if near else "aluminium alloy, no row of the table"
