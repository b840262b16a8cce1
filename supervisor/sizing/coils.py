"""A close-wound coil of round wire and what stretching makes of it. Lengths in mm; a turn is counted at its middle."""

from math import hypot, pi, sqrt
from typing import NamedTuple

from supervisor.refusal import InputRefused


class Coil(NamedTuple):
    """A coil as wound and as drawn out."""

    wire_mm: float
    outside_mm: float
    wire_m: float  # without tails
    turns: float
    stretched_mm: float

    @property
    def mean_mm(self) -> float:
        """Diameter at the wire's middle: what a turn is as long as."""
        return self.outside_mm - self.wire_mm

    @property
    def mandrel_mm(self) -> float:
        """What it is wound on, spring-back left out."""
        return self.outside_mm - 2.0 * self.wire_mm

    @property
    def closed_mm(self) -> float:
        """Length as wound, turn against turn."""
        return self.turns * self.wire_mm

    @property
    def pitch_mm(self) -> float:
        """From turn to turn when drawn out."""
        return self.stretched_mm / self.turns

    @property
    def stretch(self) -> float:
        """Drawn out over close-wound: the pitch in wire diameters too."""
        return self.stretched_mm / self.closed_mm

    @property
    def ratio(self) -> float:
        """Outside diameter over wire diameter."""
        return self.outside_mm / self.wire_mm


def drawn(wire_mm: float, outside_mm: float, wire_m: float, stretched_mm: float) -> Coil:
    """The coil of this much wire that fills a groove of this length.

    Source: geometry; the pitch formula stands in Kanthal AB, Appliance Alloys Handbook, catalogue 1-A-4-3 (2003),
    p. 70-71.

    Raises:
        InputRefused: the wire is too thick for such a coil, or shorter than the groove.
    """
    mean_mm = outside_mm - wire_mm
    if not mean_mm > wire_mm:
        raise InputRefused(f"coil is {outside_mm:g} mm outside; allowed: more than twice the wire, {2 * wire_mm:g} mm")
    if not 1000.0 * wire_m > stretched_mm:
        raise InputRefused(f"groove is {stretched_mm:.0f} mm; allowed: less than the wire, {1000 * wire_m:.0f} mm")
    pitch_mm = pi * mean_mm / sqrt((1000.0 * wire_m / stretched_mm) ** 2 - 1.0)
    return Coil(wire_mm, outside_mm, wire_m, stretched_mm / pitch_mm, stretched_mm)


def wound(wire_mm: float, outside_mm: float, wire_m: float) -> Coil:
    """The coil close-wound: its pitch is the wire's diameter."""
    mean_mm = outside_mm - wire_mm
    if not mean_mm > wire_mm:
        raise InputRefused(f"coil is {outside_mm:g} mm outside; allowed: more than twice the wire, {2 * wire_mm:g} mm")
    turns = 1000.0 * wire_m / hypot(pi * mean_mm, wire_mm)
    return Coil(wire_mm, outside_mm, wire_m, turns, turns * wire_mm)


def turns_m(wire_mm: float, outside_mm: float, turns: float) -> float:
    """Wire in so many close-wound turns, m."""
    return turns * hypot(pi * (outside_mm - wire_mm), wire_mm) / 1000.0


def outside_for(wire_mm: float, wire_m: float, stretched_mm: float, stretch: float) -> float:
    """The outside diameter with which this wire fills this groove at this stretch, mm; 0: the wire is shorter."""
    over = 1000.0 * wire_m / stretched_mm
    if over <= 1.0:
        return 0.0
    return wire_mm + stretch * wire_mm / pi * sqrt(over**2 - 1.0)
