"""The mains of one firing: its own offset, a slow wander, and steps when somebody near switches something large."""

from random import Random

OFFSET = 0.02
"""Of nominal, at most, either way. A supply may differ by a tenth for 95 % of a week, after EN 50160 (from memory)."""
WANDER, CORRELATION_S = 0.005, 600.0  # standard deviation (our choice)
STEP, STEP_EVERY_S = 0.02, 1800.0  # at most, and on average (our choice)


class Mains:
    """Voltage over nominal, second by second."""

    def __init__(self, seed: int) -> None:
        self._random = Random(f"{seed} mains of the firing")
        self._offset = self._random.uniform(-OFFSET, OFFSET)
        self._wander = self._random.gauss(0.0, WANDER)
        self._step = 0.0
        self._next_step_s = self._random.expovariate(1.0 / STEP_EVERY_S)
        self.factor = 1.0 + self._offset + self._wander

    def second(self) -> float:
        """Go on by one second."""
        random = self._random
        self._wander += -self._wander / CORRELATION_S + random.gauss(0.0, WANDER) * (2.0 / CORRELATION_S) ** 0.5
        self._next_step_s -= 1.0
        if self._next_step_s <= 0.0:
            self._next_step_s = random.expovariate(1.0 / STEP_EVERY_S)
            self._step = random.uniform(-STEP, STEP)
        self.factor = 1.0 + self._offset + self._step + self._wander
        return self.factor
