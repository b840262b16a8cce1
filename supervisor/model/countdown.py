"""Minutes to pour: the model run ahead at full power, below the chamber's cap, from all that may be the case now."""

from math import ceil, hypot, isfinite, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from supervisor.model.bands import Z90
from supervisor.model.follower import root
from supervisor.model.melting import Melting
from supervisor.model.reduced import Reduced

Array = NDArray[np.float64]

_STEP_S = 5.0
_LOOKS_AHEAD_S = 3.0 * 3600.0
_AWAITS = 1.5  # times the likely time and ten minutes: points that are not there by then count as so late
SD_FACTOR, SD_FLOOR_S = 1.0, 0.0
_PATH_POINTS = 12
_BAND_K = 10.0  # below the cap power falls off evenly over so many kelvin


class Minutes(NamedTuple):
    """Minutes from now until the coldest metal is fit to pour, with a 90 % band; below 3 likely it is nearly there.

    path: minutes from now and likely mean of the metal, °C, up to `likely`.
    """

    likely: float
    low: float
    high: float
    path: tuple[tuple[float, float], ...] = ()


def countdown(
    reduced: Reduced,
    mean: Array,
    covariance: Array,
    states: int,
    entered_kg: float,
    metal: Melting,
    *,
    pour_c: float,
    cap_c: float,
    power_w: float,
) -> Minutes | None:
    """Run ahead from the mean of a belief and from a standard deviation either side of it, in every direction.

    A belief's rows are the model's states, its log factors and the logarithm of the mass. None: the mean never gets
    there.
    """
    away = root(covariance)
    points = np.concatenate([mean[:, None], mean[:, None] + away, mean[:, None] - away], axis=1)
    mass_kg = entered_kg * np.exp(points[-1])
    found_s, path = _reach_s(reduced, points[:states], points[states:-1], mass_kg, metal, pour_c, cap_c, power_w)
    likely_s = float(found_s[0])
    if not isfinite(likely_s):
        return None
    later, sooner = (
        np.minimum(found_s[1 : 1 + len(mean)], _LOOKS_AHEAD_S),
        np.minimum(found_s[1 + len(mean) :], _LOOKS_AHEAD_S),
    )
    sd_s = sqrt(float(((later - sooner) ** 2).sum())) / 2.0
    half_s = Z90 * hypot(SD_FACTOR * sd_s, SD_FLOOR_S)
    step = max(1, ceil(len(path) / _PATH_POINTS))
    shown = tuple((t_s / 60.0, c) for t_s, c in path[::step] if t_s < likely_s)
    return Minutes(likely_s / 60.0, max(0.0, likely_s - half_s) / 60.0, (likely_s + half_s) / 60.0, shown)


def _reach_s(
    reduced: Reduced,
    x: Array,
    factors: Array,
    mass_kg: Array,
    metal: Melting,
    pour_c: float,
    cap_c: float,
    power_w: float,
) -> tuple[Array, list[tuple[float, float]]]:
    """When the coldest metal of each point reaches pour_c, s, (N,), inf where it does not, and the first one's way."""
    found_s = np.full(x.shape[1], np.inf)
    before_c = reduced.coldest_c(x, metal)
    found_s[before_c >= pour_c] = 0.0
    path = [(0.0, float(reduced.metal_c(x[:, :1], metal)[0]))]
    t_s = 0.0
    while t_s < _LOOKS_AHEAD_S and np.isinf(found_s).any():
        share = np.clip((cap_c - reduced.reading_c(x, factors)) / _BAND_K, 0.0, 1.0)
        x = reduced.step(
            x,
            factors,
            power_w=power_w * share,
            lid_open=False,
            mass_kg=mass_kg,
            metal=metal,
            dt_s=_STEP_S,
            longest_s=_STEP_S,
        )
        t_s += _STEP_S
        now_c = reduced.coldest_c(x, metal)
        there = (now_c >= pour_c) & np.isinf(found_s)
        over_s = _STEP_S * (now_c - pour_c) / np.maximum(now_c - before_c, 1e-9)
        found_s[there] = t_s - np.minimum(over_s, _STEP_S)[there]
        before_c = now_c
        if np.isinf(found_s[0]):
            path.append((t_s, float(reduced.metal_c(x[:, :1], metal)[0])))
        elif t_s > _AWAITS * found_s[0] + 600.0:
            break
    return found_s, path
