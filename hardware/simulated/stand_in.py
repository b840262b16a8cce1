"""The stand-in: somebody at the simulated furnace who answers the lamp, and who can be away."""

from typing import Protocol

SIGNAL_LASTS_S = 2.0
"""A blinking lamp counts as lit for so long after it was last on."""

PRESS_S = 3.75
"""One press that answers every question: short enough for a sign, long enough for a held press."""


class Levers(Protocol):
    """What the stand-in touches."""

    def press(self, seconds: float) -> None:
        """Press the button for so long."""
        ...


class StandIn:
    """Presses the button some time after the lamp has come on. absent: (from, to) in seconds of the furnace's clock."""

    def __init__(self, answer_after_s: float, absent: tuple[tuple[float, float], ...] = ()) -> None:
        self.answer_after_s, self.absent = answer_after_s, absent
        self._lit_since_s: float | None = None
        self._lit_s = 0.0
        self._busy_until_s = 0.0

    def there(self, now_s: float) -> bool:
        """Not away just now."""
        return not any(start <= now_s < end for start, end in self.absent)

    def look(self, levers: Levers, *, lamp: bool, now_s: float) -> bool:
        """Once a grid point: see the lamp, press when it is time. True when a press begins."""
        if now_s < self._busy_until_s:
            return False
        if lamp:
            self._lit_s = now_s
            if self._lit_since_s is None:
                self._lit_since_s = now_s
        elif self._lit_since_s is not None and now_s - self._lit_s > SIGNAL_LASTS_S:
            self._lit_since_s = None
        lit_s = self._lit_since_s
        if lit_s is None or not self.there(now_s):
            return False
        if now_s - lit_s < self.answer_after_s:
            return False
        levers.press(PRESS_S)
        self._busy_until_s, self._lit_since_s = now_s + PRESS_S + 1.0, None
        return True
