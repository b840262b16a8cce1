"""The energy meter's word on power: how much there really is of what was ordered."""

from collections import deque
from dataclasses import dataclass, field

LONGEST_STEPS = 600
LEAST_PULSES = 30
ENOUGH_PULSES = 60
AGREES_WITHIN = 0.25
"""Metered energy that differs from the ordered by more than this share is used by nobody (our choice)."""


@dataclass(slots=True)
class Meter:
    """Both counts once a second, over the last pulses that are enough to tell, or ten minutes. Changed by `see` alone.

    What lies before is of no more use, so that the oldest step is always the one to compare with.
    """

    steps: deque[tuple[float, int]] = field(default_factory=lambda: deque(maxlen=LONGEST_STEPS))

    def see(self, ordered_wh: float, pulses: int) -> None:
        """Take both running counts."""
        steps = self.steps
        steps.append((ordered_wh, pulses))
        while len(steps) > 1 and pulses - steps[1][1] >= ENOUGH_PULSES:
            steps.popleft()

    def ratio(self, pulses_per_kwh: int | None) -> float:
        """Metered over ordered energy, over the last pulses that are enough to tell.

        1 without a meter, while too little was counted, or when it cannot be true.
        """
        if pulses_per_kwh is None or len(self.steps) < 2:
            return 1.0
        last_wh, last = self.steps[-1]
        first_wh, first = self.steps[0]
        if last - first < LEAST_PULSES or last_wh <= first_wh:
            return 1.0
        ratio = (last - first) * 1000.0 / pulses_per_kwh / (last_wh - first_wh)
        return ratio if abs(ratio - 1.0) <= AGREES_WITHIN else 1.0
