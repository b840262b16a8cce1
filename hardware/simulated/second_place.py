"""Where a second thermocouple sits: in the chamber wall, under a sheath of its own. Our choice, measured on nothing."""

from math import exp
from random import Random

_LAG_S = 25.0
_NOISE_C = 0.3
_ROOM_C = 20.0


class SecondPlace:
    """One more hot junction. It sees the hot face alone, and can slip out like the first."""

    def __init__(self, seed: int, start_c: float) -> None:
        """Start warmed through."""
        self._random = Random(f"{seed} second")
        self._junction_c = start_c
        self.slip = 0.0  # share of the way out

    def reading_c(self, hot_face_c: float, dt_s: float) -> float:
        """Go on by dt_s; the hot junction as it shows, noise in it, not rounded, °C."""
        around_c = hot_face_c - self.slip * (hot_face_c - _ROOM_C)
        self._junction_c += (around_c - self._junction_c) * (1.0 - exp(-dt_s / _LAG_S))
        return self._junction_c + self._random.gauss(0.0, _NOISE_C)
