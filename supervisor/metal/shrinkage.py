"""Moulds and ingots: what fills them, what they shrink to, and how large a mould a finished bar needs."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, pi
from typing import NamedTuple

from supervisor.metal.density import PURE_G_CM3, liquid_g_cm3
from supervisor.metal.enthalpy import enthalpy_j_kg
from supervisor.refusal import InputRefused

MACHINED_OFF_MM, OPEN_TOP_MM = 3.0, 5.0
"""Each side and the bottom; the open top (common practice, no source)."""

PIPE_SHARE = 0.12
"""Of the height, lost to the hole that shrinking leaves in the top (common practice: 10 to 15 %)."""

PATTERN_SHRINK = 0.013
"""Linear, for small castings: 5/32 inch in a foot (patternmakers' books; from 1.0 to 2.6 % is reported)."""

SPILL_SHARE = 0.05
"""Of the charge: spilled, or left as a heel (our choice)."""

FILL_SHARE = 0.95
"""Nobody pours a mould brim-full (our choice)."""

MOULD_OVER_METAL = 3.0
"""Iron of a mould over metal, by mass: less, and it gets too hot for a second pour (our arithmetic)."""

TAKEN_OUT_C = 400.0
"""So far an ingot cools in its mould before it is knocked out (our choice)."""

IRON_J_KG_K = 500.0
"""Cast iron or steel, warm (handbooks: 450 to 550)."""


def mould_rise_k(metal_kg: float, mould_kg: float, pour_c: float) -> float:
    """How much hotter an iron mould gets at most, K: all of the metal's heat down to 400 °C stays in it."""
    heat_j_kg = enthalpy_j_kg(pour_c) - enthalpy_j_kg(TAKEN_OUT_C)
    return metal_kg * heat_j_kg / (mould_kg * IRON_J_KG_K)


class Mould(NamedTuple):
    """An ingot mould: its volume to the brim, and what it weighs."""

    code: str
    name: str
    volume_ml: float
    mass_kg: float | None


class Filled(NamedTuple):
    """A mould and the ingot that it will give."""

    mould: str
    kg: float
    solid_ml: float  # of the cold ingot: what the liquid shrinks to
    rise_k: float | None  # how much hotter the mould gets at most; None: nobody weighed it


@dataclass(frozen=True, slots=True)
class Moulds:
    """Whether the moulds take the metal."""

    filled: tuple[Filled, ...]
    takes_kg: float  # of all moulds, filled as one pours
    metal_kg: float
    left_kg: float  # that has no place
    shrinks_pct: float  # volume, from the liquid poured to the cold ingot


def fill(metal_kg: float, moulds: Sequence[Mould], pour_c: float, solid_g_cm3: float) -> Moulds:
    """Pour so much metal into these moulds, one after the other."""
    liquid = liquid_g_cm3(pour_c, solid_g_cm3)
    filled, left_kg = [], metal_kg
    for mould in moulds:
        kg = min(left_kg, FILL_SHARE * mould.volume_ml * liquid / 1000.0)
        if kg > 0.0005:
            rise_k = None if mould.mass_kg is None else mould_rise_k(kg, mould.mass_kg, pour_c)
            filled.append(Filled(mould.code, kg, 1000.0 * kg / solid_g_cm3, rise_k))
        left_kg -= kg
    takes_kg = sum(FILL_SHARE * mould.volume_ml for mould in moulds) * liquid / 1000.0
    shrinks_pct = 100.0 * (1.0 - liquid / solid_g_cm3)
    return Moulds(tuple(filled), takes_kg, metal_kg, max(0.0, left_kg), shrinks_pct)


class Bar(NamedTuple):
    """A mould for a round bar that is turned from the ingot."""

    finished_kg: float
    mould_diameter_mm: float
    mould_depth_mm: float
    mould_ml: float
    ingot_kg: float  # no hole deducted: an upper figure
    charge_kg: float


def mould_for_bar(diameter_mm: float, length_mm: float, loss: float, g_cm3: float = PURE_G_CM3) -> Bar:
    """The mould and the charge for a finished round bar.

    loss: melt loss as a share of the charge, 0 to 1.

    Raises:
        InputRefused: a size or a loss that cannot be.
    """
    for name, value in (("diameter_mm", diameter_mm), ("length_mm", length_mm)):
        if not (isfinite(value) and 0.0 < value <= 2000.0):
            raise InputRefused(f"{name} is {value:g}; allowed: above 0, up to 2000 mm")
    if not 0.0 <= loss < 0.9:
        raise InputRefused(f"loss is {loss:g}; allowed: 0 to 0.9, a share of the charge")
    inner_mm = (diameter_mm + 2.0 * MACHINED_OFF_MM) * (1.0 + PATTERN_SHRINK)
    ingot_mm = (length_mm + MACHINED_OFF_MM + OPEN_TOP_MM) / (1.0 - PIPE_SHARE)
    deep_mm = ingot_mm * (1.0 + PATTERN_SHRINK)
    ml = pi / 4.0 * inner_mm**2 * deep_mm / 1000.0
    ingot_kg = ml * g_cm3 / 1000.0
    finished_kg = pi / 4.0 * diameter_mm**2 * length_mm * g_cm3 / 1e6
    return Bar(finished_kg, inner_mm, deep_mm, ml, ingot_kg, ingot_kg * (1.0 + SPILL_SHARE) / (1.0 - loss))
