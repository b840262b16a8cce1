"""The element's resistance, from what the meter counted and what somebody read of the mains.

Energy alone cannot tell an old element from low mains: power is U² / R, and a tenth more resistance looks like 5 % less
voltage. What tells them apart is a voltage that was read while it heated, or the ohms of the dead element.
"""

from collections.abc import Mapping, Sequence
from math import hypot, sqrt
from typing import Any, NamedTuple

from supervisor.furnace.description import FurnaceDescription

LEAST_ORDERED_WH = 200.0
"""A firing with less says nothing of the element (our choice)."""
AROUND_S = 600.0
"""Either side of a voltage that was read: the power of that time is held against it."""
READ_SD = 0.008
"""Of a voltage read off a meter of 1.5 % (our choice of a plain meter), as a share of it."""
STEADY_SD = 0.006
"""How far mains may move in the minutes round the reading (our choice), as a share of nominal."""


class VoltRead(NamedTuple):
    """Mains voltage that somebody read while the element heated, on a meter that shows it: nothing is opened for it."""

    t_s: float  # since the firing's start
    volt: float


class Element(NamedTuple):
    """What one firing says of the element. Ohms are hot ones."""

    power_w: float  # with the relay on all the time, mean of the firing, as metered
    apparent_ohm: float  # if mains had been nominal
    ohm: float | None  # with mains removed; None: nobody read the voltage
    volt: float | None  # that was read
    sd: float  # of ohm, as a share of it; of apparent_ohm where there is none, mains left out


def element_of(
    results: Mapping[str, Any],
    furnace: FurnaceDescription,
    read: Sequence[VoltRead] = (),
    energies: Sequence[tuple[float, float, float]] = (),
) -> Element | None:
    """Resistance of the element in one firing, mains removed where a voltage was read; None: no meter, or too little.

    results: of the firing's closing record. energies: (t_s, ordered Wh since the start, metered Wh since the start), as
    the log has them; without them a read voltage is held against the whole firing's power.
    """
    ordered_wh, metered_wh = float(results.get("ordered_wh") or 0.0), float(results.get("metered_wh") or 0.0)
    if furnace.pulses_per_kwh is None or ordered_wh < LEAST_ORDERED_WH or metered_wh <= 0.0:
        return None
    power_w = furnace.full_power_w * metered_wh / ordered_wh
    pulse_sd = 1000.0 / furnace.pulses_per_kwh / metered_wh
    apparent_ohm = furnace.supply_v**2 / power_w
    ohms = [_ohm(each, furnace, energies, power_w) for each in read]
    if not ohms:
        return Element(power_w, apparent_ohm, None, None, pulse_sd)
    sd = hypot(2.0 * hypot(READ_SD, STEADY_SD) / sqrt(len(ohms)), pulse_sd)
    volt = sum(each.volt for each in read) / len(read)
    return Element(power_w, apparent_ohm, sum(ohms) / len(ohms), volt, sd)


def _ohm(
    read: VoltRead, furnace: FurnaceDescription, energies: Sequence[tuple[float, float, float]], mean_w: float
) -> float:
    near = [each for each in energies if abs(each[0] - read.t_s) <= AROUND_S]
    power_w = mean_w
    if near and near[-1][1] - near[0][1] >= LEAST_ORDERED_WH / 4.0:
        power_w = furnace.full_power_w * (near[-1][2] - near[0][2]) / (near[-1][1] - near[0][1])
    return read.volt**2 / power_w if power_w > 0.0 else furnace.supply_v**2 / mean_w
