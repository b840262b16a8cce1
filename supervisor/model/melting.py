"""Heat, temperature and share molten of the metal in the pot, for whole arrays."""

from dataclasses import dataclass, field
from functools import lru_cache
from math import inf

import numpy as np
from numpy.typing import NDArray

from supervisor.metal.charge import Charge
from supervisor.metal.enthalpy import FUSION_J_KG, MELTING_C, enthalpy_j_kg

Floats = NDArray[np.float64]

UNKNOWN_SOLIDUS_C, UNKNOWN_LIQUIDUS_C = 560.0, MELTING_C
"""Metal that nobody can name melts somewhere in here (our choice: most aluminium alloys do)."""

_PARTITION = 0.2
"""Partition coefficient of the alloying elements: silicon 0.13, copper 0.17, magnesium 0.4 (binary diagrams, from
memory); one value between them for every alloy is our choice."""

_LEAST_RANGE_C = 1.0  # pure metal melts over so much here, so that heat and temperature go back and forth
_COLDEST_C, _HOTTEST_C = -40.0, 1400.0


@dataclass(frozen=True)
class Melting:
    """How one metal takes up heat: tables of temperature and share molten over enthalpy, counted from 20 °C.

    Sensible heat and heat of fusion are those of `supervisor.metal.enthalpy`. Between solidus and liquidus the share
    molten follows Scheil's equation, f = ((Tm - T) / (Tm - TL)) ** (-1 / (1 - k)) with the melting point Tm of pure
    aluminium: most of an alloy melts close to its liquidus. Source: Flemings, Solidification Processing, 1974, chapter
    2 (from memory). What is still solid at the solidus by that equation melts within the degree above it.
    """

    solidus_c: float
    liquidus_c: float
    _c: Floats = field(repr=False, compare=False)
    _j_kg: Floats = field(repr=False, compare=False)
    _share: Floats = field(repr=False, compare=False)

    def enthalpy_j_kg(self, at_c: float | Floats) -> Floats:
        """Heat over that at 20 °C, J/kg, element by element."""
        found: Floats = np.interp(np.asarray(at_c), self._c, self._j_kg)
        return found

    def temperature_c(self, heat_j_kg: float | Floats) -> Floats:
        """Temperature, °C, at a heat over that at 20 °C, J/kg."""
        found: Floats = np.interp(np.asarray(heat_j_kg), self._j_kg, self._c)
        return found

    def share_molten(self, heat_j_kg: float | Floats) -> Floats:
        """Share molten, 0 to 1, at a heat over that at 20 °C, J/kg."""
        found: Floats = np.interp(np.asarray(heat_j_kg), self._j_kg, self._share)
        return found


def melting(charge: Charge) -> Melting:
    """Make the tables for a charge; metal without a solidus counts as pure aluminium with a wide melting range."""
    solidus_c = UNKNOWN_SOLIDUS_C if charge.solidus_c is None else charge.solidus_c
    liquidus_c = UNKNOWN_LIQUIDUS_C if charge.liquidus_c is None else charge.liquidus_c
    return _made(solidus_c, liquidus_c)


def mixed(old: Melting, old_kg: float, added: Melting, added_kg: float) -> Melting:
    """The tables of a mixture: its melting range is taken to be the mean by mass (our simplification)."""
    share = added_kg / (old_kg + added_kg)
    solidus_c = old.solidus_c + share * (added.solidus_c - old.solidus_c)
    return _made(solidus_c, old.liquidus_c + share * (added.liquidus_c - old.liquidus_c))


@lru_cache(maxsize=32)
def _made(solidus_c: float, liquidus_c: float) -> Melting:
    top_c = max(liquidus_c, solidus_c + _LEAST_RANGE_C)
    melts_c = np.linspace(solidus_c, top_c, 120)
    knots_c = np.concatenate(
        [np.arange(_COLDEST_C, solidus_c, 10.0), melts_c, np.linspace(top_c + 1.0, _HOTTEST_C, 40)],
    )
    share = np.clip((knots_c - solidus_c) / _LEAST_RANGE_C, 0.0, 1.0)
    if liquidus_c < MELTING_C - _LEAST_RANGE_C:
        below_pure_c = np.maximum(MELTING_C - knots_c, MELTING_C - liquidus_c)
        share *= (below_pure_c / (MELTING_C - liquidus_c)) ** (-1.0 / (1.0 - _PARTITION))
    else:
        share = np.clip((knots_c - solidus_c) / (top_c - solidus_c), 0.0, 1.0)
    sensible_j_kg = np.array([enthalpy_j_kg(float(c), inf, inf) for c in knots_c])
    return Melting(solidus_c, liquidus_c, knots_c, sensible_j_kg + FUSION_J_KG * share, share)
