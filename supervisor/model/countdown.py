"""Minutes to pour: the model run ahead as the governor will heat, from all that may be the case now.

In pieces: an hour ahead is a few hundred steps of the model, too long for one cycle on a small computer.
"""

from dataclasses import dataclass
from math import ceil, hypot, inf, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from supervisor.model import lumps
from supervisor.model.bands import Z90
from supervisor.model.follower import root
from supervisor.model.melting import Melting
from supervisor.model.reduced import FACTORS, LOWER, STATES, Reduced

Array = NDArray[np.float64]

STEP_S = 15.0  # compared with 1 s: 0.1 min in 36
LOOKS_AHEAD_S = 3.0 * 3600.0
SD_FACTOR, SD_FLOOR_S = 1.0, 30.0
GATE_FORM_SD = 0.03  # of the time to the gate: what even the best factors leave, as in the forecast
"""On the standard deviation that the belief gives: it knows nothing of people, and the model is not the furnace."""

_PATH_POINTS = 12
_FALLS_OFF_K = 10.0  # below the chamber's setpoint power falls off evenly over so many kelvin
_RATE_OVER_S = 120.0  # the metal's last rate of heating is taken over this time
S, MASS = len(STATES), len(STATES) + len(FACTORS)


class Minutes(NamedTuple):
    """Minutes from now until the coldest metal is fit to pour, with a 90 % band; below 3 likely it is nearly there.

    path: minutes from now and likely mean of the metal, °C, up to `likely`.
    """

    likely: float
    low: float
    high: float
    path: tuple[tuple[float, float], ...] = ()

    def after(self, gone: float) -> "Minutes":
        """What is left of them when so many minutes have gone."""
        likely, low, high = (max(0.0, minutes - gone) for minutes in (self.likely, self.low, self.high))
        return Minutes(likely, low, high, tuple((at - gone, c) for at, c in self.path if at >= gone))


class GateAhead(NamedTuple):
    """Minutes from now until the chamber comes to where the gate asks; one firing in twenty is there before early."""

    likely: float
    early: float


@dataclass(frozen=True, slots=True)
class Course:
    """How the chamber will be heated from here on: full power up to a setpoint that follows the metal.

    cap_c: the highest setpoint in a boost, target_c without one. The boost is over when the metal, by its upper edge,
    comes within near_k of the target, or when boost_wh more have been used.
    """

    power_w: float  # with the element on, under the ceiling in force
    target_c: float
    cap_c: float
    gain: float = 0.0  # kelvin of chamber over the target for each that the metal's upper edge is under it
    near_k: float = 0.0
    margin_k: float = 0.0  # from the likely metal to its upper edge
    boost_wh: float = inf
    plan: tuple[tuple[float, float], ...] = ()  # seconds from now and setpoint, °C, on the profile's way to the target


class Countdown:
    """One look ahead. `go_on` until it is True, then `minutes`: None where the likely metal never gets there."""

    def __init__(
        self,
        reduced: Reduced,
        mean: Array,
        covariance: Array,
        entered_kg: float,
        metal: Melting,
        *,
        pour_c: float,
        course: Course,
        gate_c: float | None = None,
    ) -> None:
        """Begin at the mean of a belief and a standard deviation either side of it, in every direction.

        A belief's rows begin with the model's states, its log factors and the logarithm of the mass. gate_c: a reading
        of the chamber whose time is noted on the way; None: none is.
        """
        away = root(covariance)
        points = np.concatenate([mean[:, None], mean[:, None] + away, mean[:, None] - away], axis=1)
        self.minutes: Minutes | None = None
        self._gate_c, self._gate_s = gate_c, np.full(points.shape[1], inf)
        self._reduced, self._metal, self._pour_c, self._course = reduced, metal, pour_c, course
        self._x = points[:S].copy()
        with np.errstate(all="ignore"):
            self._factors = reduced.applied(points[S:MASS])
        self._mass_kg = entered_kg * np.exp(points[MASS])
        self._boosts = np.full(points.shape[1], course.cap_c > course.target_c)
        self._used_wh = np.zeros(points.shape[1])
        self._t_s = 0.0
        self._coldest_c: list[Array] = []
        self._before_c = self._look()
        self._path = [(0.0, self._likely_c())]
        self.done = self._before_c >= pour_c
        if self.done:
            self.minutes = Minutes(0.0, 0.0, 0.0)

    def go_on(self, steps: int) -> bool:
        """Look so many steps further ahead; True when it is done."""
        with np.errstate(all="ignore"):
            for _ in range(steps):
                if self.done:
                    break
                self._step()
        return self.done

    def _step(self) -> None:
        reading_c = self._reduced.reading_c(self._x)
        share = np.minimum(np.maximum((self._setpoint_c() - reading_c) / _FALLS_OFF_K, 0.0), 1.0)
        power_w = self._course.power_w * share
        self._x = self._reduced.step(
            self._x,
            self._factors,
            power_w=power_w,
            lid_open=False,
            mass_kg=self._mass_kg,
            metal=self._metal,
            dt_s=STEP_S,
            longest_s=STEP_S,
        )
        self._t_s += STEP_S
        self._pass_gate(reading_c)
        self._used_wh += power_w * (STEP_S / 3600.0)
        now_c = self._look()
        if now_c >= self._pour_c:
            over_s = STEP_S * (now_c - self._pour_c) / max(now_c - self._before_c, 1e-9)
            self._there(self._t_s - min(over_s, STEP_S))
        elif self._t_s >= LOOKS_AHEAD_S:
            self.done = True
        self._before_c = now_c
        self._path.append((self._t_s, self._likely_c()))

    def _look(self) -> float:
        """Work the metal's temperatures out, and note the coldest; that of the likely metal, °C."""
        self._lumps_c = self._metal.temperature_c(self._x[LOWER:])
        coldest_c = np.minimum(self._lumps_c[0], self._lumps_c[1])
        self._coldest_c.append(coldest_c)
        return float(coldest_c[0])

    def _likely_c(self) -> float:
        """Mean temperature of the likely metal, °C."""
        return float(lumps.by_mass(self._lumps_c[:, 0]))

    def _pass_gate(self, before_c: Array) -> None:
        if self._gate_c is None or np.isfinite(self._gate_s).all():
            return
        now_c = self._reduced.reading_c(self._x)
        over_s = STEP_S * np.clip((now_c - self._gate_c) / np.maximum(now_c - before_c, 1e-9), 0.0, 1.0)
        first = (now_c >= self._gate_c) & ~np.isfinite(self._gate_s)
        self._gate_s[first] = (self._t_s - over_s)[first]

    @property
    def gate(self) -> GateAhead | None:
        """When the chamber comes to gate_c; None: the likely one does not, as far as has been looked."""
        likely_s = float(self._gate_s[0])
        if not likely_s < inf:
            return None
        # A point that is slower than the look was long is later than all of it: that says nothing of early.
        times_s = np.minimum(self._gate_s, self._t_s)
        either = (len(times_s) - 1) // 2
        sd_s = sqrt(float(((times_s[1 : 1 + either] - times_s[1 + either :]) ** 2).sum())) / 2.0
        early_s = likely_s - Z90 * hypot(SD_FACTOR * sd_s, SD_FLOOR_S, GATE_FORM_SD * likely_s)
        return GateAhead(likely_s / 60.0, max(0.0, early_s) / 60.0)

    def _setpoint_c(self) -> float | Array:
        course = self._course
        if course.plan and self._t_s < course.plan[-1][0]:  # the profile is followed before anything else
            at_s, at_c = np.array(course.plan).T
            planned_c = float(np.interp(self._t_s + STEP_S, at_s, at_c))
            return min(planned_c, course.target_c)
        if not self._boosts.any():
            return course.target_c
        under_k = course.target_c - (lumps.by_mass(self._lumps_c) + course.margin_k)
        self._boosts &= (under_k > course.near_k) & (self._used_wh < course.boost_wh)
        boosted_c = np.clip(course.target_c + course.gain * under_k, course.target_c, course.cap_c)
        return np.where(self._boosts, boosted_c, course.target_c)

    def _there(self, likely_s: float) -> None:
        """The likely metal is there. How much later or sooner each other point is, its heat and its rate say.

        In heat, not in temperature: that stands still while metal melts.
        """
        self.done = True
        back = min(len(self._coldest_c) - 1, round(_RATE_OVER_S / STEP_S))
        heat_j_kg = self._metal.enthalpy_j_kg(self._coldest_c[-1])
        rates = (heat_j_kg - self._metal.enthalpy_j_kg(self._coldest_c[-1 - back])) / (back * STEP_S)
        rate = np.maximum(rates, max(rates[0] / 2.0, 1.0))  # a point that is there already hardly warms any more
        late_s = (float(self._metal.enthalpy_j_kg(self._pour_c)) - heat_j_kg) / rate + (self._t_s - likely_s)
        late_s = np.clip(late_s, -likely_s, LOOKS_AHEAD_S)
        either = (len(late_s) - 1) // 2
        sd_s = sqrt(float(((late_s[1 : 1 + either] - late_s[1 + either :]) ** 2).sum())) / 2.0
        half_s = Z90 * hypot(SD_FACTOR * sd_s, SD_FLOOR_S)
        step = max(1, ceil(len(self._path) / _PATH_POINTS))
        shown = tuple((t_s / 60.0, c) for t_s, c in self._path[::step] if t_s < likely_s)
        low_s, high_s = max(0.0, likely_s - half_s), likely_s + half_s
        self.minutes = Minutes(likely_s / 60.0, low_s / 60.0, high_s / 60.0, shown)
