"""The element's arithmetic: ohms, watts, surface load, and how hot that makes the wire."""

from math import pi, sqrt
from typing import NamedTuple

from supervisor.refusal import InputRefused
from supervisor.sizing.films import KELVIN, STEFAN_BOLTZMANN

IN_A_GROOVE = 0.5
"""Share of a coil's surface that radiates where it lies in a groove; 1 for a free wire. Textbooks use 0.5 to 0.57; a
pot close to it, dross or cement lower it."""


class Sized(NamedTuple):
    """A wire or strip that takes a power at a voltage with a surface load; per phase where there are three."""

    phase_w: float
    hot_ohm: float
    cold_ohm: float
    load_w_cm2: float
    width_mm: float  # diameter of a wire, width of a strip
    length_m: float


def power_w(volts: float, ohm: float) -> float:
    """What a resistance takes, W."""
    return volts * volts / ohm


def allowed_load_w_cm2(element_c: float, charge_c: float, emissivity: float, seen: float) -> float:
    """Surface load at which an element has a temperature: what it radiates, W/cm².

    Source: Stefan and Boltzmann's law with a radiating factor, as in Theraja, A Textbook of Electrical Technology III,
    chapter 47.
    """
    return seen * emissivity * STEFAN_BOLTZMANN * ((element_c + KELVIN) ** 4 - (charge_c + KELVIN) ** 4) / 1e4


def element_c(load_w_cm2: float, furnace_c: float, emissivity: float, seen: float = IN_A_GROOVE) -> float:
    """How hot an element is that radiates this load into a furnace of that temperature, °C."""
    fourth = (furnace_c + KELVIN) ** 4 + load_w_cm2 * 1e4 / (seen * emissivity * STEFAN_BOLTZMANN)
    return sqrt(sqrt(fourth)) - KELVIN


def load_w_cm2(watts: float, mm: float, length_m: float) -> float:
    """Surface load of a round wire."""
    return watts / (pi * mm * 10.0 * length_m)


def wire_mm(watts: float, load: float, cold_ohm: float, resistivity_ohm_mm2_m: float) -> float:
    """The diameter with which a wire of this resistance has this surface load, mm.

    Source: Kanthal AB, Appliance Alloys Handbook, catalogue 1-A-4-3 (2003), p. 71.
    """
    return float((4.0 * resistivity_ohm_mm2_m * watts / (pi**2 * load * cold_ohm) / 10.0) ** (1.0 / 3.0))


def wire(watts: float, load: float, hot_ohm: float, factor: float, resistivity_ohm_mm2_m: float) -> Sized:
    """The round wire for a power, a surface load and a hot resistance."""
    cold_ohm = hot_ohm / factor
    mm = wire_mm(watts, load, cold_ohm, resistivity_ohm_mm2_m)
    return Sized(watts, hot_ohm, cold_ohm, load, mm, cold_ohm * pi / 4.0 * mm**2 / resistivity_ohm_mm2_m)


def strip(watts: float, load: float, hot_ohm: float, factor: float, resistivity: float, thick_mm: float) -> Sized:
    """The strip of a thickness; its two broad faces radiate, as in Theraja's example 47.2."""
    cold_ohm = hot_ohm / factor
    area_m2 = watts / (load * 1e4) / 2.0  # width times length
    length_per_width = cold_ohm * thick_mm * 1e-3 / (resistivity * 1e-6)
    width_m = sqrt(area_m2 / length_per_width)
    return Sized(watts, hot_ohm, cold_ohm, load, 1000.0 * width_m, area_m2 / width_m)


class Joined(NamedTuple):
    """Equal elements on one supply."""

    ohm: float
    amps: float
    watts: float
    each_v: float
    each_a: float
    each_w: float


def joined(volts: float, each_ohm: float, in_series: int, branches: int) -> Joined:
    """`branches` in parallel, each of `in_series` equal elements one after the other.

    Raises:
        InputRefused: fewer than one, or more than a hundred.
    """
    for field, count in (("series", in_series), ("parallel", branches)):
        if not 1 <= count <= 100:
            raise InputRefused(f"{field} is {count}; allowed: 1 to 100")
    ohm = each_ohm * in_series / branches
    amps, each_v = volts / ohm, volts / in_series
    return Joined(ohm, amps, volts * amps, each_v, each_v / each_ohm, each_v**2 / each_ohm)
