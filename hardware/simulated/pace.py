"""How fast the simulated furnace's clock goes, and for whom it waits: pure, told the real time."""

from hardware.ports import CYCLE_S

SLOWEST, FASTEST = 1.0, 60.0
"""Times real that can be asked for."""
LATE_S = 0.2
"""At 1 x a supervisor that is later than this after a grid point has lost it."""
PATIENCE_S = 1.0
"""Faster than 1 x the clock waits so long for a busy supervisor, in real time."""


class Pace:
    """When the next grid point is due in real time.

    A supervisor is *ready* when it asks for the next sample, busy while it works on the last one.
    """

    def __init__(self, times_real: float, now_s: float) -> None:
        """Start the clock: the first grid point is one cycle away.

        Raises:
            ValueError: times_real outside SLOWEST to FASTEST.
        """
        self.ask(times_real)
        self.now_times_real = 1.0
        self._due_s = now_s + CYCLE_S
        self._alone = True

    def ask(self, times_real: float) -> None:
        """Choose the pace for while nothing wants a person's time.

        Raises:
            ValueError: times_real outside SLOWEST to FASTEST.
        """
        if not SLOWEST <= times_real <= FASTEST:
            raise ValueError(f"times_real is {times_real}; allowed: {SLOWEST:.0f} to {FASTEST:.0f}")
        self.asked_times_real = times_real

    def wait_s(self, now_s: float, *, connected: bool, ready: bool) -> float:
        """Say how long until the next grid point must be made; 0: now."""
        due_s = self._due_s
        if connected and not ready and not self._alone:
            due_s += LATE_S if self.now_times_real == 1.0 else PATIENCE_S
        return max(0.0, due_s - now_s)

    def stepped(self, now_s: float, *, connected: bool, ready: bool, slow: bool) -> None:
        """A grid point was made: work out when the next one is due.

        slow: something wants a person's time. Without a supervisor in step the pace is 1 x too.
        """
        self._alone = not (connected and ready)
        self.now_times_real = 1.0 if slow or self._alone else self.asked_times_real
        # what this process itself slept through is not caught up: the furnace's clock just stood still
        began_s = self._due_s if now_s - self._due_s <= CYCLE_S else now_s
        self._due_s = began_s + CYCLE_S / self.now_times_real
