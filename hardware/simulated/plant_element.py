"""The heating element and the mains that feed it."""

from itertools import pairwise
from math import exp, sqrt
from random import Random

from hardware.simulated.plant_body import Body

# R(T) / R(20 °C) of the FeCrAl alloy with 22 % Cr and 5.8 % Al; it melts at about 1500 °C.
# Source: Kanthal AB, Appliance Alloys Handbook, catalogue 1-A-4-3 (2003); the melting point from memory.
_RESISTANCE_RATIO = ((-50, 1.0), (400, 1.0), (500, 1.01), (600, 1.02), (700, 1.02), (800, 1.03), (1000, 1.04))
_MELTING_C = 1500
# Specific heat a + b T, J/kg/K: fits the handbook's 0.46 kJ/kg/K at 20 °C; the slope is from memory.
_SPECIFIC_HEAT = (450.0, 0.25)


def _resistance_ratio(temperature_c: float) -> float:
    """Interpolate the table; beyond its last row the last value holds."""
    for (c0, r0), (c1, r1) in pairwise(_RESISTANCE_RATIO):
        if temperature_c <= c1:
            return r0 + (r1 - r0) * (temperature_c - c0) / (c1 - c0)
    return _RESISTANCE_RATIO[-1][1]


_CONDUCTANCE_RATIO = [1.0 / _resistance_ratio(c) for c in range(_MELTING_C + 1)]  # by whole °C


class Element:
    """The wire: a body, and its resistance."""

    __slots__ = ("_cold_ohm", "body", "broken", "resistance_factor")

    def __init__(self, cold_ohm: float, wire_kg: float, start_c: float) -> None:
        """Start whole and as new."""
        self._cold_ohm = cold_ohm
        self.resistance_factor = 1.0
        self.broken = False
        self.body = Body(wire_kg, _SPECIFIC_HEAT, start_c)

    def power_w(self, volt: float) -> float:
        """Electrical power at a voltage, W. A wire at its melting point parts for good."""
        if self.broken:
            return 0.0
        wire_c = self.body.temperature_c
        if wire_c >= _MELTING_C:
            self.broken = True
            return 0.0
        return volt * volt * _CONDUCTANCE_RATIO[int(wire_c)] / (self._cold_ohm * self.resistance_factor)


class Mains:
    """Supply voltage over nominal: one offset for the firing and a slow wander round it (our choice of size)."""

    __slots__ = ("_offset", "_random", "factor")

    WANDER = 0.006  # standard deviation, share of nominal
    CORRELATION_S = 900.0

    def __init__(self, seed: int, offset: float) -> None:
        """offset: how far this firing's mean lies from nominal, as a share of it."""
        self._random = Random(f"{seed} mains")
        self._offset = 1.0 + offset
        self.factor = self._offset + self._random.gauss(0.0, self.WANDER)

    def wander(self, dt_s: float) -> None:
        """Go on by dt_s: a first-order process, so that the spread stays WANDER whatever the step."""
        kept = exp(-dt_s / self.CORRELATION_S)
        push = self._random.gauss(0.0, self.WANDER) * sqrt(1.0 - kept * kept)
        self.factor = self._offset + (self.factor - self._offset) * kept + push
