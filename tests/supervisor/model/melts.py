"""Ordinary firings of a simulated furnace, as its log would have them, with the truth beside: for the model's tests.

The supervisor's own cycle is not in it: a plain regulator holds the reading, so that a melt costs half a second.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from supervisor.furnace.description import FurnaceDescription
from supervisor.metal.alloys import charge
from supervisor.metal.charge import Charge
from supervisor.model.series import Addition, Dip, Row, Series, series

_STEP_S = 0.5
_WINDOW_S = 5.0


@dataclass(frozen=True)
class Melt:
    """One firing: what the log has of it, and what was true at the end of each step of the series."""

    firing: Series
    metal_c: NDArray[np.float64]
    coldest_c: NDArray[np.float64]
    share_molten: NDArray[np.float64]


def melt(
    plant: Any,
    furnace: FurnaceDescription,
    *,
    mass_kg: float = 2.0,
    alloy: str = "6082",
    to_c: float = 740.0,
    rate_c_per_h: float | None = None,
    boost_k: float = 0.0,
    minutes: float = 90.0,
    mains: float = 1.0,
    metered: bool = True,
    entered: float = 1.0,
    lids: tuple[tuple[float, float], ...] = (),
    added: tuple[tuple[float, float], ...] = (),
    dips: tuple[float, ...] = (),
    firing_id: int = 1,
) -> Melt:
    """Fire a plant to to_c, at full power or at a rate, and hold the reading there.

    boost_k: so much hotter until the coldest metal is within 20 K of to_c.
    entered: mass as entered over the real one. lids: minute and seconds of each opening. added: minute and kg. dips:
    minutes of dip readings. Metered: the energy is that of whole pulses. mass_kg 0 is a firing without metal.
    """
    held: Charge | None = None
    if mass_kg:
        plant.add_charge(mass_kg, 20.0, alloy)
        held = charge(mass_kg * entered, alloy, "off-cuts")
    rows: list[Row] = []
    truth: list[tuple[float, float, float]] = []
    additions, dipped = [], []
    duty, trim = 0.0, 0.0
    before_j, ordered_wh = plant.state.supplied_j, 0.0
    for number in range(round(minutes * 60.0 / _STEP_S)):
        at_s = number * _STEP_S
        for minute, kg in added:
            if at_s == minute * 60.0:
                plant.add_charge(kg, 20.0, alloy)
                additions.append(Addition(at_s, kg * entered, None))
        lid_open = any(minute * 60.0 <= at_s < minute * 60.0 + seconds for minute, seconds in lids)
        if at_s % _WINDOW_S == 0.0:
            boosted = boost_k if plant.state.metal_coldest_c < to_c - 20.0 else 0.0
            setpoint_c = to_c + boosted
            if rate_c_per_h is not None:
                setpoint_c = min(setpoint_c, 20.0 + rate_c_per_h * at_s / 3600.0)
            gap_k = setpoint_c - round(plant.state.hot_junction_c * 4.0) / 4.0
            trim = min(0.5, max(0.0, trim + 0.0002 * gap_k * _WINDOW_S)) if abs(gap_k) < 20.0 else trim
            duty = 0.0 if lid_open else min(1.0, max(0.0, 0.03 * gap_k + trim))
        on = not lid_open and at_s % _WINDOW_S < duty * _WINDOW_S
        state = plant.step(_STEP_S, element_on=on, lid_open=lid_open, mains_factor=mains)
        ordered_wh += on * furnace.full_power_w * _STEP_S / 3600.0
        if (number + 1) % 2 == 0:
            energy_wh = (state.supplied_j - before_j) / 3600.0
            rows.append(
                Row(
                    at_s + _STEP_S,
                    round(state.hot_junction_c * 4.0) / 4.0,
                    ordered_wh / furnace.full_power_w * 3600.0,
                    float(int(energy_wh)) if metered else 0.0,
                    lid_open,
                )
            )
            ordered_wh = 0.0
        if (number + 1) % round(_WINDOW_S / _STEP_S) == 0:
            truth.append((state.metal_mean_c, state.metal_coldest_c, state.share_molten))
        if any(at_s + _STEP_S == minute * 60.0 for minute in dips):
            dipped.append(Dip(at_s + _STEP_S, state.metal_mean_c))
    firing = series(
        rows,
        furnace=furnace,
        charge=held,
        additions=additions,
        dips=dipped,
        metered=metered,
        firing_id=firing_id,
        started_utc_ms=1_700_000_000_000 + firing_id * 86_400_000,
        outcome="complete",
    )
    return Melt(firing, *np.array(truth).T)
