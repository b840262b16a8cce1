"""How long a furnace that is no longer heated stays too hot to touch, with the lid shut.

One cool-down is reckoned as a supervisor begins, from a lining that stood hot for a while, with what slows it on the
slow side of what is believed; from any reading the rest of the way is read off it. A furnace that was heated for a
short time cools sooner than that, not later.
"""

from math import log
from typing import NamedTuple

import numpy as np

from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.reckoning import ROOM_C
from supervisor.model.learned import Model
from supervisor.model.outset import factors_of
from supervisor.model.reduced import FACTORS, Reduced

TOUCH_C = 60.0
"""Below it the furnace is cold to this program (our choice)."""

_BEGINS_C, _STEADY_C = 950.0, 150.0
"""Below the second the rest of the way is one exponential: it is reckoned, not stepped through."""

_SD = 0.3  # of each: all of them on the slow side at once
_SLOWER = {"loss": -1.0, "capacity": 1.0, "leak": -1.0, "pot_capacity": 1.0}
_SOAK = 0.45  # as likely after a melt: see `Reduced.settled`
_STEP_S, _SUBSTEP_S = 60.0, 30.0
_LONGEST_STEPS = 3000


class CoolDown(NamedTuple):
    """Readings on the way down, hottest last, and how long each still is from TOUCH_C."""

    reading_c: tuple[float, ...]
    left_s: tuple[float, ...]

    def left(self, reading_c: float) -> float:
        """Seconds until the furnace may be touched; above the hottest reading, the hottest one's."""
        return float(np.interp(reading_c, self.reading_c, self.left_s))


def cool_down(furnace: FurnaceDescription, model: Model | None) -> CoolDown:
    """Reckon it, with an empty pot. model: what was learned of this furnace, if anything was."""
    reduced = Reduced(furnace)
    centre, covariance = factors_of(reduced, model)
    slow = centre + _SD * np.sqrt(np.diag(covariance)) * np.array([_SLOWER.get(name, 0.0) for name in FACTORS])
    by, x = reduced.applied(slow[:, None]), reduced.settled(_BEGINS_C, 1, _SOAK)
    at_s, reading_c = [0.0], [_BEGINS_C]
    while reading_c[-1] > _STEADY_C and len(at_s) < _LONGEST_STEPS:
        x = reduced.step(
            x, by, power_w=0.0, lid_open=False, mass_kg=0.0, metal=None, dt_s=_STEP_S, longest_s=_SUBSTEP_S
        )
        at_s.append(at_s[-1] + _STEP_S)
        reading_c.append(float(reduced.reading_c(x)[0]))
    last = _exponential(at_s, reading_c)
    falling = np.minimum.accumulate(reading_c)[::-1]
    left_s = at_s[-1] + last[-1][1] - np.array(at_s)[::-1]
    return CoolDown(
        (*(c for c, _ in last[:-1]), *map(float, falling)), (*(s for _, s in last[:-1]), *map(float, left_s))
    )


def _exponential(at_s: list[float], reading_c: list[float]) -> list[tuple[float, float]]:
    """From TOUCH_C up to the last reading, by the time constant of the last hour: readings, and seconds to TOUCH_C."""
    before = max(0, len(at_s) - 60)
    over_k, was_over_k = reading_c[-1] - ROOM_C, reading_c[before] - ROOM_C
    time_constant_s = (at_s[-1] - at_s[before]) / log(was_over_k / over_k)
    readings_c = np.linspace(TOUCH_C, reading_c[-1], 12)
    return [(float(c), time_constant_s * log((c - ROOM_C) / (TOUCH_C - ROOM_C))) for c in readings_c]
