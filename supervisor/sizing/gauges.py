"""Wire sizes: American wire gauge by its formula, metric sizes by preferred numbers; section and surface."""

import re
from math import pi
from typing import NamedTuple

from supervisor.refusal import InputRefused
from supervisor.sizing.quantities import LENGTH, read

THINNEST_MM, THICKEST_MM = 0.15, 8.0
"""What an element is wound from here."""

METRIC_MM = (
    0.4, 0.45, 0.5, 0.56, 0.63, 0.71, 0.8, 0.9, 1.0, 1.12, 1.25, 1.4, 1.6, 1.8, 2.0, 2.24, 2.5, 2.8, 3.15, 3.55, 4.0,
)  # fmt: skip
"""Preferred numbers (ISO 388, series R20; from memory)."""

AWG = tuple(range(6, 31))
"""The gauges that are offered; any from 4/0 to 40 can be named."""

_AWG = re.compile(r"(?:awg\s*([0-9]{1,2}|[0-4]/0)|([0-9]{1,2}|[0-4]/0)\s*(?:awg|ga|gauge))", re.IGNORECASE)


class Gauge(NamedTuple):
    """A round wire: what it is called, and its diameter."""

    name: str  # '1.4 mm', 'AWG 16'
    mm: float

    @property
    def area_mm2(self) -> float:
        """Its section."""
        return pi / 4.0 * self.mm**2

    @property
    def surface_cm2_per_m(self) -> float:
        """Its surface a metre."""
        return pi * self.mm * 10.0


def awg_mm(number: int) -> float:
    """Diameter of American wire gauge `number`; 0 to -3 are 1/0 to 4/0.

    Source: ASTM B258: 39 equal ratios between 0.0050 in (36) and 0.4600 in (4/0).
    """
    return 0.127 * float(92.0 ** ((36 - number) / 39.0))


def metric() -> list[Gauge]:
    """The metric sizes."""
    return [Gauge(f"{mm:g} mm", mm) for mm in METRIC_MM]


def american() -> list[Gauge]:
    """The American sizes, thin to thick."""
    return [Gauge(f"AWG {number}", awg_mm(number)) for number in reversed(AWG)]


def gauge(typed: str, field: str = "wire") -> Gauge:
    """A wire as people call it: '1.4 mm', '1,4', '0.0402 in', 'AWG 16', '16 ga'.

    Raises:
        InputRefused: no such size, or none that an element is wound from.
    """
    found = _AWG.fullmatch(typed.strip())
    if found is None:
        mm = read(typed, LENGTH, field, THINNEST_MM, THICKEST_MM)
        return Gauge(f"{mm:.4g} mm", mm)
    name = found[1] or found[2]
    number = 1 - int(name[0]) if "/" in name else int(name)
    mm = awg_mm(number)
    if not THINNEST_MM <= mm <= THICKEST_MM:
        raise InputRefused(f"{field} is {typed.strip()!r}, {mm:.3g} mm; allowed: {THINNEST_MM:g} to {THICKEST_MM:g} mm")
    return Gauge(f"AWG {name}", mm)
