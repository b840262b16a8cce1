"""From setpoint and reading to duty, and from duty to a relay that switches at most once a window.

simple-pid trims what the feed-forward expects. What it lacks is added here through its public attributes: dt is always
given, a reading that is not a number is refused, the integral is corrected back when the output is limited.
"""

from dataclasses import dataclass, field
from itertools import pairwise
from math import isfinite
from typing import NamedTuple

import numpy as np
from simple_pid import PID

from hardware.ports import CYCLE_S
from supervisor.firing.feed_forward import FeedForward
from supervisor.furnace.description import FurnaceDescription
from supervisor.model.learned import Model
from supervisor.model.reduced import Reduced


@dataclass(frozen=True, slots=True)
class Tuning:
    """Gains of the trim, and what a settled furnace needs, for those who reckon ahead."""

    gain_per_k: float
    integral_s: float
    tracking_s: float
    dead_time_s: float
    loss_duty: tuple[float, ...]  # settled duty at 0, 100, 200, ... °C


def tuning(furnace: FurnaceDescription, model: Model | None = None) -> Tuning:
    """Gains by the SIMC rule from the furnace's step response: the learned model's, or what its file says.

    Kc = 1 / (k'(tc + theta)), Ti = 4 (tc + theta), here with tc = 1.4 theta and Tt = Ti / 2.
    Source: Skogestad, S. (2003), Simple analytic rules for model reduction and PID controller tuning, Journal of
    Process Control 13, 291-309 (from memory).
    """
    slope_c_per_s, dead_time_s = furnace.response.slope_c_per_s, furnace.response.dead_time_s
    if model is not None:
        slope_c_per_s, dead_time_s = step_response(furnace, model, min(TUNED_AT_C, furnace.top_c))
        dead_time_s += furnace.relay_window_s / 2.0 + LATE_S
    lag_s = 2.4 * dead_time_s
    expected = FeedForward(furnace, model)
    loss_duty = tuple(expected.settled_duty(at_c) for at_c in range(0, 1300, 100))
    return Tuning(1.0 / (slope_c_per_s * lag_s), 4.0 * lag_s, 2.0 * lag_s, dead_time_s, loss_duty)


def step_response(furnace: FurnaceDescription, model: Model, at_c: float) -> tuple[float, float]:
    """How the learned furnace answers a step of power at at_c: steepest slope per unit of duty, K/s, and dead time, s.

    The tangent at the steepest slope meets the level before the step after the dead time.
    """
    reduced, factors = Reduced(furnace), np.repeat(np.array(model.log_factors)[:, None], 2, axis=1)
    x, by = reduced.settled(at_c, 2, 0.5), reduced.applied(factors)
    power_w = furnace.full_power_w * np.array([0.0, STEP_OF_DUTY])
    apart_k = [0.0]
    for _ in range(STEP_SEEN_S):
        x = reduced.step(x, by, power_w=power_w, lid_open=False, mass_kg=np.zeros(2), metal=None, dt_s=1.0)
        reading_c = reduced.reading_c(x)
        apart_k.append(float(reading_c[1] - reading_c[0]))
    slopes = [(after - before) / STEP_OF_DUTY for before, after in pairwise(apart_k)]
    steepest = max(range(STEP_SEEN_S), key=lambda second: slopes[second])
    slope_c_per_s = max(slopes[steepest], LEAST_SLOPE_C_PER_S)
    dead_time_s = steepest + 0.5 - (apart_k[steepest] + apart_k[steepest + 1]) / 2.0 / STEP_OF_DUTY / slope_c_per_s
    return slope_c_per_s, max(dead_time_s, LEAST_DEAD_TIME_S)


LATE_S = 1.5
"""A second's mean is half a second old, and its duty is given in the second after; half a window more, the relay."""

STEP_OF_DUTY, STEP_SEEN_S = 0.2, 120
LEAST_SLOPE_C_PER_S, LEAST_DEAD_TIME_S = 0.05, 5.0
"""A furnace that answers more slowly or faster than this is none (our choice)."""


SHEATH_J_M2_K = 4900.0
"""Heat that a sheath of 4.5 mm takes up, per area of its surface: stainless steel (from memory)."""
SHEATH_EMISSIVITY, SHEATH_FILM_W_M2_K = 0.8, 12.0
STEFAN_BOLTZMANN_W_M2_K4 = 5.670374e-8
TUNED_AT_C = 740.0


def sheath_lag_s(at_c: float) -> float:
    """How late the sheath is at this temperature, s: heat it takes up over heat that radiation and air bring it."""
    kelvin = at_c + 273.15
    return SHEATH_J_M2_K / (4.0 * SHEATH_EMISSIVITY * STEFAN_BOLTZMANN_W_M2_K4 * kelvin**3 + SHEATH_FILM_W_M2_K)


def chamber_leads_by_s(reading_c: float) -> float:
    """How much later than at the temperature of its tuning the reading is: a cold sheath hardly takes up radiation.

    Measured on the simulated bench furnace, ramp of 900 °C/h to 150 °C: regulating the bare reading went 25 K over.
    """
    return max(0.0, sheath_lag_s(reading_c) - sheath_lag_s(TUNED_AT_C))


SLOPE_S, SLOPE_MORE_S, SLOPE_PER_LEAD = 20.0, 40.0, 0.15
SMOOTH_PER_LEAD = 0.05
APART_K = 25.0
"""The lining is taken to follow the setpoint, which does not wobble, but no further than this from the reading."""


class Aim(NamedTuple):
    """Where the chamber should be now, how fast that moves, and where it stops."""

    setpoint_c: float
    ramp_c_per_s: float
    end_c: float


def slope_over_s(reading_c: float) -> int:
    """Over how many seconds the reading's slope is taken: what is seen far ahead must not be noise."""
    return round(SLOPE_S + min(SLOPE_MORE_S, SLOPE_PER_LEAD * chamber_leads_by_s(reading_c)))


class Controller:
    """Regulation of the reading: what is expected of the furnace, and a trim. One call a second.

    plain: the trim alone, for comparison.
    """

    def __init__(self, tuning: Tuning, expected: FeedForward, *, plain: bool = False) -> None:
        self.plain, self.firing_id = plain, 0
        self._take(tuning, expected)

    def begin(self, firing_id: int, furnace: FurnaceDescription, model: Model | None) -> None:
        """A firing begins with what is learned by now. What the lining has been through is kept."""
        expected = FeedForward(furnace, model)
        expected.goes_on_from(self.expected)
        self.firing_id = firing_id
        self._take(tuning(furnace, model), expected)

    def _take(self, tuning: Tuning, expected: FeedForward) -> None:
        self.tuning, self.expected = tuning, expected
        self._pid = PID(tuning.gain_per_k, tuning.gain_per_k / tuning.integral_s, 0.0, sample_time=None)
        # Wide: a trim cut off here would hide from the back-calculation how far the output is limited.
        self._pid.output_limits = (0.0, 1.0) if self.plain else (-10.0, 10.0)
        self._chamber_c: float | None = None

    def duty(self, aim: Aim, reading_c: float, slope_c_per_s: float, dt_s: float, ceiling: float) -> float:
        """Duty from 0 to ceiling.

        Raises:
            ValueError: a temperature or dt_s is not a number that can be: the caller gives no heat.
        """
        if not (isfinite(sum(aim) + reading_c + slope_c_per_s) and 0.0 < dt_s <= 10.0):
            raise ValueError(f"control was given {aim}, reading {reading_c}, slope {slope_c_per_s}, dt {dt_s}")
        self.expected.follow(min(max(aim.setpoint_c, reading_c - APART_K), reading_c + APART_K), dt_s)
        if self.plain:
            self._pid.setpoint = aim.setpoint_c
            return min(self._trim(reading_c, dt_s), ceiling)
        # A cold sheath is minutes late. Chamber and setpoint are both seen that much ahead, but never past the ramp's
        # end: the reading then comes up to a chamber that waits for it.
        lead_s = chamber_leads_by_s(reading_c)
        ahead_c = aim.setpoint_c + lead_s * aim.ramp_c_per_s
        rising = aim.ramp_c_per_s > 0.0
        end_c = max(aim.end_c, aim.setpoint_c) if rising else min(aim.end_c, aim.setpoint_c)
        self._pid.setpoint = min(ahead_c, end_c) if rising else max(ahead_c, end_c)
        chamber_c = self._smooth(reading_c + lead_s * slope_c_per_s, lead_s, dt_s)
        expected = self.expected.duty(aim.setpoint_c, aim.ramp_c_per_s)
        self._careful(reading_c, lead_s)
        wanted = expected + self._trim(chamber_c, dt_s)
        self._hold_back(min(-expected, 0.0), max(ceiling - expected, 0.0))
        return min(max(wanted, 0.0), ceiling)

    def rest(self, reading_c: float | None = None, dt_s: float = 1.0) -> None:
        """No heat is given: forget what was learned of the error, so that the return is from what is expected alone."""
        self._pid.reset()
        self._chamber_c = None
        if reading_c is not None:
            self.expected.follow(reading_c, dt_s)

    def _trim(self, measured_c: float, dt_s: float) -> float:
        trim = self._pid(measured_c, dt=dt_s)
        assert trim is not None  # auto mode is never left
        return trim

    def _smooth(self, chamber_c: float, lead_s: float, dt_s: float) -> float:
        """Noise seen ahead is noise many times over, and a duty that it takes below nothing is not there to average."""
        over_s = SMOOTH_PER_LEAD * lead_s
        before_c = chamber_c if self._chamber_c is None else self._chamber_c
        self._chamber_c = before_c + (chamber_c - before_c) * dt_s / (over_s + dt_s)
        return self._chamber_c

    def _careful(self, reading_c: float, lead_s: float) -> None:
        """What is seen ahead is seen later: gains by the same rule for that much more dead time."""
        of = self.tuning
        share = of.dead_time_s / (of.dead_time_s + slope_over_s(reading_c) / 2.0 + SMOOTH_PER_LEAD * lead_s)
        gain_per_k = of.gain_per_k * (share if lead_s else 1.0)
        self._pid.tunings = (gain_per_k, gain_per_k / of.integral_s * (share if lead_s else 1.0), 0.0)

    def _hold_back(self, least: float, most: float) -> None:
        """Back-calculation: the integral is never further than what the furnace could have been given.

        simple-pid lets it be set by a change to auto mode, which also starts it anew.
        """
        integral = self._pid.components[1]
        if not least <= integral <= most:
            self._pid.set_auto_mode(False)
            self._pid.set_auto_mode(True, last_output=min(max(integral, least), most))


@dataclass(slots=True)
class Window:
    """Time-proportioning: the duty is latched at the window's start and the remainder carried to the next."""

    cycles: int  # in a window
    at: int = 0
    on_cycles: int = 0
    owed: float = field(default=0.0)  # cycles of heat that rounding kept back

    def relay(self, duty: float) -> bool:
        """The relay in this cycle. A duty of 0 is off at once, whatever the window had planned."""
        if duty <= 0.0:
            self.at, self.on_cycles, self.owed = 0, 0, 0.0
            return False
        if self.at == 0:
            wanted = duty * self.cycles + self.owed
            self.on_cycles = min(int(wanted + 0.5), self.cycles)
            self.owed = min(max(wanted - self.on_cycles, -1.0), 1.0)
        on = self.at < self.on_cycles
        self.at = (self.at + 1) % self.cycles
        return on


def window(window_s: float) -> Window:
    """A window of so many seconds, on the cycle's grid."""
    return Window(max(2, round(window_s / CYCLE_S)))
