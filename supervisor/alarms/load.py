"""How many alarms a person was told, and how many in the worst ten minutes: averages hide the worst."""

from bisect import bisect_left
from collections import deque
from typing import NamedTuple

WINDOW_S = 600.0
KEPT = 1000


class Load(NamedTuple):
    """Alarms told since some moment: all, the most in ten minutes, and those that only followed another."""

    told: int
    peak_in_10_min: int
    followed: int


def load(told_s: deque[float], followed_s: deque[float], since_s: float) -> Load:
    """Count what was told and what only followed, from since_s on."""
    times = [at_s for at_s in told_s if at_s >= since_s]
    peak = max((number - bisect_left(times, at_s - WINDOW_S) + 1 for number, at_s in enumerate(times)), default=0)
    return Load(len(times), peak, sum(at_s >= since_s for at_s in followed_s))
