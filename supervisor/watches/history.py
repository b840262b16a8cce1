"""The ring of history: one entry a second, appended by the cycle alone; means and rises are ready-made."""

from math import isnan, nan

SIZE = 2048  # seconds, a power of two; the longest window is 20 min


class History:
    """The last 34 minutes, second by second. Windows are whole seconds up to 1200."""

    __slots__ = ("_bad_sum", "_cold_c", "_duty_sum", "_hot_c", "_setpoint_c", "pulses", "seconds")

    def __init__(self) -> None:
        self.seconds = 0  # entries ever appended
        self._hot_c = [nan] * SIZE
        self._setpoint_c = [nan] * SIZE
        self._duty_sum = [0.0] * SIZE  # running sum, so that a mean is one subtraction
        self.pulses = [0] * SIZE
        self._cold_c = [nan] * SIZE
        self._bad_sum = [0] * SIZE  # frames without a reading, running sum

    def append(
        self, hot_c: float, setpoint_c: float, duty: float, pulses: int, cold_c: float = nan, bad_frames: int = 0
    ) -> None:
        """One second more. hot_c is NaN where there was no reading: it never enters arithmetic, only `isnan`."""
        at = self.seconds & (SIZE - 1)
        before = self._duty_sum[at - 1]
        self._hot_c[at] = hot_c
        self._setpoint_c[at] = setpoint_c
        self._duty_sum[at] = before + duty
        self.pulses[at] = pulses
        self._cold_c[at] = cold_c
        self._bad_sum[at] = self._bad_sum[at - 1] + bad_frames
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

    def setpoint_c(self, ago_s: int = 0) -> float | None:
        """The setpoint so many seconds ago; None where there was none."""
        return self._at(self._setpoint_c, ago_s)

    def cold_c(self, ago_s: int = 0) -> float | None:
        """The cold junction so many seconds ago; None where it was not read."""
        return self._at(self._cold_c, ago_s)

    def _at(self, ring: list[float], ago_s: int) -> float | None:
        if ago_s >= self.seconds:
            return None
        value = ring[(self.seconds - 1 - ago_s) & (SIZE - 1)]
        return None if isnan(value) else value

    def mean_duty(self, window_s: int, ago_s: int = 0) -> float | None:
        """Mean of the relay's on-time over the window that ended ago_s ago, 0 to 1; None while it is not full."""
        if window_s + ago_s >= self.seconds:
            return None
        last = self.seconds - 1 - ago_s
        return (self._duty_sum[last & (SIZE - 1)] - self._duty_sum[(last - window_s) & (SIZE - 1)]) / window_s

    def pulses_in(self, window_s: int, ago_s: int = 0) -> int | None:
        """Meter pulses counted in the window that ended ago_s ago; None while it is not full."""
        if window_s + ago_s >= self.seconds:
            return None
        last = self.seconds - 1 - ago_s
        return self.pulses[last & (SIZE - 1)] - self.pulses[(last - window_s) & (SIZE - 1)]

    def bad_frames_in(self, window_s: int) -> int:
        """Frames without a reading in the window, or since the beginning."""
        last = self.seconds - 1
        if window_s >= self.seconds:
            return self._bad_sum[last & (SIZE - 1)] if self.seconds else 0
        return self._bad_sum[last & (SIZE - 1)] - self._bad_sum[(last - window_s) & (SIZE - 1)]

    def roughness_k(self, window_s: int) -> float | None:
        """Median of how far each second is off the line through its neighbours, times 2, K; None where half miss.

        A ramp has none, and a single jump moves it little. 0.67 * 2.45 of a second's standard deviation.
        """
        if window_s + 2 > self.seconds:
            return None
        first = self.seconds - window_s - 2
        hot_c = [self._hot_c[(first + number) & (SIZE - 1)] for number in range(window_s + 2)]
        bends = [abs(a - 2.0 * b + c) for a, b, c in zip(hot_c, hot_c[1:], hot_c[2:], strict=False)]
        if isnan(sum(bends)):  # noise that costs whole seconds is noise all the same
            bends = [bend for bend in bends if not isnan(bend)]
        return None if 2 * len(bends) < window_s else sorted(bends)[len(bends) // 2]
