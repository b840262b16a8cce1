"""From setpoint and reading to duty, and from duty to a relay that switches at most once a window.

simple-pid trims what the feed-forward expects. What it lacks is added here through its public attributes: dt is always
given, a reading that is not a number is refused, the integral is corrected back when the output is limited.
"""

from dataclasses import dataclass, field
from math import isfinite

from simple_pid import PID

from hardware.ports import CYCLE_S
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.reckoning import ramp_gain_s_per_k, settled_duty


@dataclass(frozen=True, slots=True)
class Tuning:
    """Gains of the trim and the feed-forward."""

    gain_per_k: float
    integral_s: float
    tracking_s: float
    ramp_gain_s_per_k: float  # duty per K/s of ramp
    loss_duty: tuple[float, ...]  # settled duty at 0, 100, 200, ... °C


def tuning(furnace: FurnaceDescription) -> Tuning:
    """Gains by the SIMC rule from the furnace's step response, feed-forward from its data sheets.

    Kc = 1 / (k'(tc + theta)), Ti = 4 (tc + theta), here with tc = 1.4 theta and Tt = Ti / 2.
    Source: Skogestad, S. (2003), Simple analytic rules for model reduction and PID controller tuning, Journal of
    Process Control 13, 291-309 (from memory).
    """
    lag_s = 2.4 * furnace.response.dead_time_s
    gain_per_k = 1.0 / (furnace.response.slope_c_per_s * lag_s)
    loss_duty = tuple(settled_duty(furnace, at_c) for at_c in range(0, 1300, 100))
    return Tuning(gain_per_k, 4.0 * lag_s, 2.0 * lag_s, ramp_gain_s_per_k(furnace), loss_duty)


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


class Controller:
    """Plain regulation of the reading: one call a second."""

    def __init__(self, tuning: Tuning) -> None:
        self.tuning = tuning
        self._pid = PID(tuning.gain_per_k, tuning.gain_per_k / tuning.integral_s, 0.0, sample_time=None)
        # Wide: a trim cut off here would hide from the back-calculation how far the output is limited.
        self._pid.output_limits = (-10.0, 10.0)

    def duty(self, setpoint_c: float, ramp_c_per_s: float, reading_c: float, dt_s: float, ceiling: float) -> float:
        """Duty from 0 to ceiling.

        Raises:
            ValueError: a temperature or dt_s is not a number that can be: the caller gives no heat.
        """
        if not (isfinite(setpoint_c) and isfinite(reading_c) and isfinite(ramp_c_per_s) and 0.0 < dt_s <= 10.0):
            raise ValueError(f"control was given setpoint {setpoint_c}, reading {reading_c}, dt {dt_s}")
        expected = self._settled(setpoint_c) + self.tuning.ramp_gain_s_per_k * ramp_c_per_s
        self._pid.setpoint = setpoint_c
        trim = self._pid(reading_c, dt=dt_s)
        assert trim is not None  # auto mode is never left
        wanted = expected + trim
        given = min(max(wanted, 0.0), ceiling)
        if given != wanted:
            self._track(given - wanted, dt_s)
        return given

    def rest(self) -> None:
        """No heat is given: forget what was learned of the error, so that the return is from the feed-forward alone."""
        self._pid.reset()

    def _settled(self, at_c: float) -> float:
        table = self.tuning.loss_duty
        position = min(max(at_c / 100.0, 0.0), len(table) - 1.001)
        below = int(position)
        return table[below] + (position - below) * (table[below + 1] - table[below])

    def _track(self, excess: float, dt_s: float) -> None:
        # Back-calculation: simple-pid lets the integral be set by a change to auto mode, which also starts it anew.
        integral = self._pid.components[1] + excess * dt_s / self.tuning.tracking_s
        self._pid.set_auto_mode(False)
        self._pid.set_auto_mode(True, last_output=min(max(integral, -1.0), 1.0))


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
