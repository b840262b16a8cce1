"""Melting ranges of the plant's alloys, and enthalpy tables made from them.

Names are the registration numbers that the trade uses (wrought: four digits; cast: three digits and a point).
"""

from functools import lru_cache
from itertools import pairwise
from math import exp, log
from typing import NamedTuple

# Aluminium, Shomate equations, t = K/1000, J/mol. Solid to 933.45 K, liquid above.
# Source: NIST Chemistry WebBook, SRD 69, condensed phase data of aluminum, from NIST-JANAF 4th ed. 1998.
# A to E as read there; F of both phases from memory, checked by H(298.15 K) = 0 and by the heat of fusion.
_SOLID = (28.08920, -5.414849, 8.560423, 3.427370, -0.277375, -9.147187)
_LIQUID = (31.75104, 3.935826e-8, -1.786515e-8, 2.694171e-9, 5.480037e-9, -0.945684)
_MOLAR_KG = 0.0269815384  # IUPAC
PURE_MELTING_C = 660.3
LATENT_J_KG = 396.94e3  # difference of the two equations at 933.45 K; used for every alloy, silicon's extra left out

REFERENCE_C = 20.0
"""Enthalpies count from here, °C."""

_COLDEST_C, _HOTTEST_C = -40.0, 1400.0
_CELL_J_KG = 1000.0


class MeltingRange(NamedTuple):
    """Where an alloy melts. partition: Scheil's kappa; the larger, the later the bulk of it melts."""

    solidus_c: float
    liquidus_c: float
    partition: float


# kappa 0.13 for aluminium-silicon (its binary diagram, from memory), else 0.30 (our choice).
_MELTING_RANGES = {
    "aluminium": MeltingRange(660.3, 660.3, 0.30),  # pure
    # Aluminum Association melting ranges as carried by a stockholder's table, °F converted:
    "1100": MeltingRange(643.0, 657.0, 0.30),
    "2011": MeltingRange(541.0, 643.0, 0.30),
    "2024": MeltingRange(502.0, 638.0, 0.30),
    "3003": MeltingRange(643.0, 654.0, 0.30),
    "5052": MeltingRange(607.0, 649.0, 0.30),
    "5083": MeltingRange(591.0, 638.0, 0.30),
    "6061": MeltingRange(582.0, 652.0, 0.30),
    "6063": MeltingRange(616.0, 654.0, 0.30),
    "7075": MeltingRange(477.0, 635.0, 0.30),
    # Extrusion makers' data sheets: 6082 (three copies agree); 6060 from a sheet for 6060 and 6063 together.
    "6060": MeltingRange(585.0, 650.0, 0.30),
    "6082": MeltingRange(585.0, 650.0, 0.30),
    "319.0": MeltingRange(521.0, 604.0, 0.13),  # foundry selection guide
    "356.0": MeltingRange(555.0, 615.0, 0.13),  # liquidus: three public tables of LM25; solidus from memory
    "A356.0": MeltingRange(555.0, 615.0, 0.13),  # AlSi7Mg0.3, as 356.0
    # NADCA Product Specification Standards, table A-3-2:
    "360.0": MeltingRange(557.0, 596.0, 0.13),
    "A360.0": MeltingRange(557.0, 596.0, 0.13),
    "380.0": MeltingRange(540.0, 595.0, 0.13),
    "A380.0": MeltingRange(540.0, 595.0, 0.13),
    "383.0": MeltingRange(516.0, 582.0, 0.13),
    "413.0": MeltingRange(574.0, 582.0, 0.13),
    "535.0": MeltingRange(549.0, 629.0, 0.30),  # an alloy maker's page, °F converted
    "unknown": MeltingRange(540.0, 640.0, 0.30),  # our choice: a lathe bar end, say
}


def melting_range(alloy: str) -> MeltingRange:
    """Give the melting range of an alloy by its name.

    Raises:
        KeyError: the plant does not know the alloy; the message names those that it knows.
    """
    try:
        return _MELTING_RANGES[alloy]
    except KeyError:
        raise KeyError(f"alloy is {alloy!r}; allowed: {', '.join(sorted(_MELTING_RANGES))}") from None


def _shomate_j_kg(temperature_c: float, constants: tuple[float, ...]) -> float:
    """Enthalpy over that of the solid at 298.15 K, J/kg: At + Bt²/2 + Ct³/3 + Dt⁴/4 - E/t + F, in kJ/mol."""
    a, b, c, d, e, f = constants
    t = (temperature_c + 273.15) / 1000.0
    return (a * t + b * t**2 / 2.0 + c * t**3 / 3.0 + d * t**4 / 4.0 - e / t + f) * 1000.0 / _MOLAR_KG


def _sensible_j_kg(temperature_c: float) -> float:
    """Enthalpy over REFERENCE_C without the latent heat, J/kg. One curve for all alloys."""
    base = _shomate_j_kg(REFERENCE_C, _SOLID)
    if temperature_c <= PURE_MELTING_C:
        return _shomate_j_kg(temperature_c, _SOLID) - base
    liquid = _shomate_j_kg(temperature_c, _LIQUID) - _shomate_j_kg(PURE_MELTING_C, _LIQUID)
    return _shomate_j_kg(PURE_MELTING_C, _SOLID) - base + liquid


class Enthalpy:
    """Temperature and molten share of one melting range as functions of enthalpy, and back.

    Enthalpy is the state of the metal, for it alone moves on while latent heat is taken up. Source of the curve:
    the Shomate equations above; the molten share f by Scheil's equation (Gulliver 1913, Scheil 1942; from memory):
    f = ((Tm - T) / (Tm - Tl))^(-1 / (1 - kappa)) between solidus and liquidus, Tm that of pure aluminium. What is
    still liquid at the solidus freezes there, at one temperature.
    """

    __slots__ = ("_last", "_lowest_j_kg", "_range", "_rows")

    def __init__(self, melts: MeltingRange) -> None:
        """Tabulate one melting range on an even grid of enthalpy."""
        self._range = melts
        self._lowest_j_kg = _sensible_j_kg(_COLDEST_C)
        knots = [(self._at(c, f), c, f) for c, f in self._path()]
        cells = int((knots[-1][0] - self._lowest_j_kg) / _CELL_J_KG)
        corners: list[tuple[float, float]] = []
        knot = 0
        for i in range(cells + 1):
            h = self._lowest_j_kg + i * _CELL_J_KG
            while knots[knot + 1][0] < h:
                knot += 1
            (h0, c0, f0), (h1, c1, f1) = knots[knot], knots[knot + 1]
            part = (h - h0) / (h1 - h0)
            corners.append((c0 + part * (c1 - c0), f0 + part * (f1 - f0)))
        self._rows = [(c0, c1 - c0, f0, f1 - f0) for (c0, f0), (c1, f1) in pairwise(corners)]
        self._last = float(len(self._rows)) - 1e-6

    def _at(self, temperature_c: float, molten: float) -> float:
        return _sensible_j_kg(temperature_c) + LATENT_J_KG * molten

    def _path(self) -> list[tuple[float, float]]:
        """Temperature and molten share from cold to hot, close enough together for straight lines between."""
        solidus, liquidus = self._range.solidus_c, self._range.liquidus_c
        cold = [(c, 0.0) for c in _evenly(_COLDEST_C, solidus, 400)]
        melting = [(c, self._scheil(c)) for c in _evenly(solidus, liquidus, 800)]
        hot = [(c, 1.0) for c in _evenly(max(liquidus, PURE_MELTING_C), _HOTTEST_C, 50)]
        path = cold + melting + hot
        return [knot for i, knot in enumerate(path) if i == 0 or self._at(*knot) > self._at(*path[i - 1])]

    def _scheil(self, temperature_c: float) -> float:
        liquidus, partition = self._range.liquidus_c, self._range.partition
        if temperature_c >= liquidus:
            return 1.0
        ratio = (PURE_MELTING_C - temperature_c) / (PURE_MELTING_C - liquidus)
        return exp(-log(ratio) / (1.0 - partition))

    def enthalpy_j_kg(self, temperature_c: float) -> float:
        """Enthalpy over that at 20 °C, J/kg; at a temperature that melting holds, that of the solid."""
        if temperature_c <= self._range.solidus_c:
            return _sensible_j_kg(temperature_c)
        return self._at(temperature_c, self._scheil(temperature_c))

    def liquid_j_kg(self, temperature_c: float) -> float:
        """Enthalpy of the liquid alone at a temperature, over that of the solid at 20 °C, J/kg."""
        return self._at(temperature_c, 1.0)

    def temperature_and_molten(self, enthalpy_j_kg: float) -> tuple[float, float]:
        """Temperature, °C, and molten share, 0 to 1, at an enthalpy over that at 20 °C, J/kg."""
        x = (enthalpy_j_kg - self._lowest_j_kg) / _CELL_J_KG
        if not 0.0 <= x < self._last:
            x = 0.0 if x < 0.0 else self._last
        i = int(x)
        x -= i
        c, c_step, f, f_step = self._rows[i]
        return c + x * c_step, f + x * f_step


def _evenly(first: float, last: float, count: int) -> list[float]:
    return [first + (last - first) * i / count for i in range(count + 1)]


@lru_cache(maxsize=32)
def enthalpy_of(melts: MeltingRange) -> Enthalpy:
    """Give the table of a melting range; made once for each."""
    return Enthalpy(melts)
