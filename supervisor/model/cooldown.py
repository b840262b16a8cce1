"""How long liquid metal stays hot enough to pour once heat is off: the model run ahead without power.

In pieces, as the countdown: nothing in a cycle may wait for all of it.
"""

from math import hypot, sqrt

import numpy as np
from numpy.typing import NDArray

from supervisor.model.bands import Z90
from supervisor.model.countdown import MASS, Minutes, S
from supervisor.model.follower import root
from supervisor.model.melting import Melting
from supervisor.model.reduced import Reduced

Array = NDArray[np.float64]

STEP_S = 10.0
LOOKS_AHEAD_S = 1800.0
SD_FLOOR_S, FORM_SD = 30.0, 0.25
"""On what the belief gives: an open lid and a draught take what no model of the furnace knows."""


class Cooldown:
    """One look ahead. `go_on` until it is True, then `minutes`: to when the metal's mean falls below to_c."""

    def __init__(
        self,
        reduced: Reduced,
        mean: Array,
        covariance: Array,
        entered_kg: float,
        metal: Melting,
        *,
        to_c: float,
        lid_open: bool,
    ) -> None:
        """Begin at the mean of a belief and a standard deviation either side of it, as the countdown does."""
        away = root(covariance)
        points = np.concatenate([mean[:, None], mean[:, None] + away, mean[:, None] - away], axis=1)
        self._reduced, self._metal, self._to_c, self._lid_open = reduced, metal, to_c, lid_open
        self._x = points[:S].copy()
        with np.errstate(all="ignore"):
            self._factors = reduced.applied(points[S:MASS])
        self._mass_kg = entered_kg * np.exp(points[MASS])
        self._before_c = reduced.metal_c(self._x, metal)
        self._fell_s = np.where(self._before_c < to_c, 0.0, np.inf)
        self._t_s = 0.0
        self.done = bool(np.isfinite(self._fell_s[0]))

    def go_on(self, steps: int) -> bool:
        """Look so many steps further ahead; True when it is done."""
        with np.errstate(all="ignore"):
            for _ in range(steps):
                if self.done:
                    break
                self._step()
        return self.done

    def _step(self) -> None:
        self._x = self._reduced.step(
            self._x,
            self._factors,
            power_w=np.zeros(self._mass_kg.shape),
            lid_open=self._lid_open,
            mass_kg=self._mass_kg,
            metal=self._metal,
            dt_s=STEP_S,
            longest_s=STEP_S,
        )
        self._t_s += STEP_S
        now_c = self._reduced.metal_c(self._x, self._metal)
        share = np.clip((self._before_c - self._to_c) / np.maximum(self._before_c - now_c, 1e-9), 0.0, 1.0)
        first = (now_c < self._to_c) & ~np.isfinite(self._fell_s)
        self._fell_s[first] = (self._t_s - STEP_S + STEP_S * share)[first]
        self._before_c = now_c
        self.done = bool(np.isfinite(self._fell_s).all()) or self._t_s >= LOOKS_AHEAD_S

    @property
    def minutes(self) -> Minutes | None:
        """Likely, with a 90 % band; None: the likely metal does not fall so far in the time looked at."""
        likely_s = float(self._fell_s[0])
        if not np.isfinite(likely_s):
            return None
        times_s = np.minimum(self._fell_s, self._t_s)
        either = (len(times_s) - 1) // 2
        sd_s = sqrt(float(((times_s[1 : 1 + either] - times_s[1 + either :]) ** 2).sum())) / 2.0
        half_s = Z90 * hypot(sd_s, SD_FLOOR_S, FORM_SD * likely_s)
        return Minutes(likely_s / 60.0, max(0.0, likely_s - half_s) / 60.0, (likely_s + half_s) / 60.0)
