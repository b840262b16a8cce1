"""One firing as the model sees it: every five seconds the power, the lid and the reading."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, nan
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from supervisor.furnace.description import FurnaceDescription
from supervisor.metal.charge import Charge

Floats = NDArray[np.float64]

STEP_S = 5.0

_RATIO_OVER_S = 600.0  # either side: pulses are coarse (1 Wh of a hold's 40 in ten minutes), mains wander slowly
_RATIO_PRIOR_WH = 10.0  # with as little as this in the window, the whole firing's ratio counts as much as the window's
_LEAST_METERED_WH = 20.0  # less says nothing of the mains


class Row(NamedTuple):
    """One row of the log, as far as it matters here."""

    t_s: float  # since the firing's start
    hot_junction_c: float | None
    duty: float  # ordered, mean since the row before
    energy_wh: float  # since the start; metered where a meter is fitted
    lid_open: bool


class Addition(NamedTuple):
    """Metal that was put in during the firing."""

    t_s: float
    mass_kg: float
    charge: Charge | None  # None: the same metal


class Dip(NamedTuple):
    """A dip reading."""

    t_s: float
    metal_c: float


@dataclass(frozen=True, eq=False)
class Series:
    """One firing, from its start to the pour. Arrays are (K,), one value for each step of STEP_S."""

    t_s: Floats  # end of each step
    reading_c: Floats  # at the step's end; nan where there was none
    power_w: Floats  # mean over the step
    lid_open: NDArray[np.bool_]
    start_c: float  # the first reading
    charge: Charge | None  # in the pot at the start, at room temperature; None: a firing without metal
    additions: tuple[Addition, ...]
    dips: tuple[Dip, ...]
    metered: bool  # power_w is what the meter saw; else what was ordered at nominal mains
    firing_id: int
    started_utc_ms: int
    findings: int  # of watches, notes not counted
    outcome: str  # how it ended, as a person confirmed it together with the mass; '': nobody has
    power_share: float = 1.0  # metered over ordered energy of the whole; 1 where nothing is metered


def series(
    rows: Sequence[Row],
    *,
    furnace: FurnaceDescription,
    charge: Charge | None,
    additions: Sequence[Addition] = (),
    dips: Sequence[Dip] = (),
    poured_s: float | None = None,
    metered: bool,
    firing_id: int = 0,
    started_utc_ms: int = 0,
    findings: int = 0,
    outcome: str = "",
) -> Series:
    """Make a series of a firing's rows; it ends where the metal was poured.

    Raises:
        ValueError: no row has a reading.
    """
    kept = [row for row in rows if poured_s is None or row.t_s <= poured_s]
    start_c = next((row.hot_junction_c for row in kept if row.hot_junction_c is not None), None)
    if start_c is None:
        raise ValueError(f"firing {firing_id} has no reading in {len(kept)} rows; allowed: one at least")
    count = max(1, ceil(kept[-1].t_s / STEP_S - 1e-9))
    reading_c, lid_open = np.full(count, nan), np.zeros(count, dtype=bool)
    for row in kept:
        step = min(count - 1, max(0, ceil(row.t_s / STEP_S - 1e-9) - 1))
        lid_open[step] |= row.lid_open
        if row.hot_junction_c is not None:
            reading_c[step] = row.hot_junction_c
    ends_s = STEP_S * np.arange(1, count + 1, dtype=np.float64)
    ordered_wh = _ordered_wh(kept, ends_s, furnace.full_power_w)
    power_w, power_share = np.diff(ordered_wh, prepend=0.0) * 3600.0 / STEP_S, 1.0
    if metered:
        metered_wh = np.interp(ends_s, [row.t_s for row in kept], [row.energy_wh for row in kept])
        power_w = power_w * mains_ratio(ordered_wh, metered_wh)
        power_share = _whole(ordered_wh, metered_wh)
    end_s = float(ends_s[-1])
    return Series(
        ends_s,
        reading_c,
        power_w,
        lid_open,
        start_c,
        charge,
        tuple(addition for addition in additions if addition.t_s <= end_s),
        tuple(dip for dip in dips if dip.t_s <= end_s),
        metered,
        firing_id,
        started_utc_ms,
        findings,
        outcome,
        power_share,
    )


def mains_ratio(ordered_wh: Floats, metered_wh: Floats) -> Floats:
    """Metered over ordered power at each step, (K,), from both energies at the steps' ends.

    Pulses of a meter are too coarse to give the power of five seconds; what they give is how far the power is from the
    ordered one, over some minutes.
    """
    whole = _whole(ordered_wh, metered_wh)
    reach = round(_RATIO_OVER_S / STEP_S)
    count = len(ordered_wh)
    first, last = np.maximum(np.arange(count) - reach, 0), np.minimum(np.arange(count) + reach, count - 1)
    ratio: Floats = (metered_wh[last] - metered_wh[first] + whole * _RATIO_PRIOR_WH) / (
        ordered_wh[last] - ordered_wh[first] + _RATIO_PRIOR_WH
    )
    return ratio


def _whole(ordered_wh: Floats, metered_wh: Floats) -> float:
    return float(metered_wh[-1] / ordered_wh[-1]) if ordered_wh[-1] > _LEAST_METERED_WH else 1.0


def _ordered_wh(rows: Sequence[Row], ends_s: Floats, full_power_w: float) -> Floats:
    """Ordered energy since the start at the steps' ends, Wh."""
    at_s = np.array([0.0, *(row.t_s for row in rows)])
    duty = np.array([row.duty for row in rows])
    energy_wh = np.concatenate([[0.0], np.cumsum(duty * np.maximum(np.diff(at_s), 0.0))]) * full_power_w / 3600.0
    return np.interp(ends_s, at_s, energy_wh)
