"""The ring of history: one entry a second, appended by the cycle alone; means and rises are ready-made."""

from math import isnan, nan

SIZE = 2048  # seconds, a power of two; the longest window is 20 min


class History:
    """The last 34 minutes, second by second. Windows are whole seconds up to 1200."""

    __slots__ = ("_duty_sum", "_hot_c", "_setpoint_c", "pulses", "seconds")

    def __init__(self) -> None:
        self.seconds = 0  # entries ever appended
        self._hot_c = [nan] * SIZE
        self._setpoint_c = [nan] * SIZE
        self._duty_sum = [0.0] * SIZE  # running sum, so that a mean is one subtraction
        self.pulses = [0] * SIZE

    def append(self, hot_c: float, setpoint_c: float, duty: float, pulses: int) -> None:
        """One second more. hot_c is NaN where there was no reading: it never enters arithmetic, only `isnan`."""
        at = self.seconds & (SIZE - 1)
        before = self._duty_sum[at - 1]
        self._hot_c[at] = hot_c
        self._setpoint_c[at] = setpoint_c
        self._duty_sum[at] = before + duty
        self.pulses[at] = pulses
        self.seconds += 1

    def hot_c(self, ago_s: int = 0) -> float | None:
        """The reading so many seconds ago; None where there was none."""
        if ago_s >= self.seconds:
            return None
        value = self._hot_c[(self.seconds - 1 - ago_s) & (SIZE - 1)]
        return None if isnan(value) else value

    def rise_c(self, window_s: int) -> float | None:
        """How much the reading rose over the window; None where an end is missing."""
        now, then = self.hot_c(), self.hot_c(window_s)
        return None if now is None or then is None else now - then

    def mean_duty(self, window_s: int) -> float | None:
        """Mean of the relay's on-time over the window, 0 to 1; None while the window is not full."""
        if window_s >= self.seconds:
            return None
        last = self.seconds - 1
        return (self._duty_sum[last & (SIZE - 1)] - self._duty_sum[(last - window_s) & (SIZE - 1)]) / window_s

    def pulses_in(self, window_s: int) -> int | None:
        """Meter pulses counted in the window; None while it is not full."""
        if window_s >= self.seconds:
            return None
        last = self.seconds - 1
        return self.pulses[last & (SIZE - 1)] - self.pulses[(last - window_s) & (SIZE - 1)]
