"""How far the second thermocouple is from the first, minute by minute: evidence, kept for the watch over both."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from hardware.ports import Reading

if TYPE_CHECKING:  # a turn holds a firing, which holds this
    from supervisor.firing.turn import Turn
    from supervisor.watches.history import History

SETTLED_OVER_S = 300
SETTLED_K = 10.0
AFTER_LID_S = 600.0
CALM_AFTER_LID_S = 180.0

MINUTES = 20

FELL_K, FELL_OVER_S = 25.0, 20
"""The second falls away from the first by so much in so long: on ramps and after them healthy ones moved apart by 10 K
(simulated), one that slips halfway out by 27 K from 120 °C and 160 K from 600 °C."""

TOLD_FOR_S = 300
"""So long afterwards it is told."""


@dataclass(slots=True)
class Pair:
    """Means of the difference, second less first, K. Changed by `see` alone, once a second."""

    minutes_k: deque[float] = field(default_factory=lambda: deque(maxlen=MINUTES))
    fell_k: float = 0.0  # by how much the second fell away at once, while that is told
    _seconds_k: deque[float] = field(default_factory=lambda: deque(maxlen=FELL_OVER_S + 3))
    _told_s: int = 0
    _sum_k: float = 0.0
    _count: int = 0

    def see(self, first_c: float | None, second_c: float | None, *, settled: bool) -> None:
        """One second. settled: neither lid nor ramp moves the two apart; else what was seen is forgotten."""
        if not settled or first_c is None or second_c is None:
            self.minutes_k.clear()
            self._sum_k, self._count = 0.0, 0
            return
        self._sum_k, self._count = self._sum_k + second_c - first_c, self._count + 1
        if self._count == 60:
            self.minutes_k.append(self._sum_k / 60.0)
            self._sum_k, self._count = 0.0, 0

    def fall(self, first_c: float | None, second_c: float | None, *, lid_calm: bool) -> None:
        """One second, on ramps as well: has the second fallen away from the first at once, three seconds in a row?"""
        self._told_s = max(0, self._told_s - 1)
        seconds_k = self._seconds_k
        if not lid_calm or first_c is None or second_c is None:
            seconds_k.clear()
        else:
            seconds_k.append(second_c - first_c)
        if len(seconds_k) == seconds_k.maxlen:
            fell_k = max(seconds_k[FELL_OVER_S + last] - seconds_k[last] for last in range(3))
            if fell_k <= -FELL_K:
                self.fell_k, self._told_s = min(self.fell_k, fell_k), TOLD_FOR_S
        if not self._told_s:
            self.fell_k = 0.0

    @property
    def moved_k(self) -> float | None:
        """How much the last minute's mean is from the furthest one before it; None with less than three minutes."""
        if len(self.minutes_k) < 3:
            return None
        last = self.minutes_k[-1]
        return max((last - before for before in self.minutes_k), key=abs)


def see_pair(turn: Turn, history: History) -> None:
    """Once a second, where a second thermocouple is fitted."""
    if len(turn.sample.sensors) < 2:
        return
    firing, second, rise_k = turn.firing, turn.sample.sensors[1], history.rise_c(SETTLED_OVER_S)
    shut_s = firing.lid.last_shut_s
    lid_calm = firing.lid.opened_s is None and (shut_s is None or turn.now_s - shut_s >= AFTER_LID_S)
    settled = lid_calm and rise_k is not None and abs(rise_k) <= SETTLED_K
    second_c = second.hot_junction_c if isinstance(second, Reading) else None
    firing.pair.see(history.hot_c(), second_c, settled=settled)
    calm = firing.lid.opened_s is None and (shut_s is None or turn.now_s - shut_s >= CALM_AFTER_LID_S)
    firing.pair.fall(history.hot_c(), second_c, lid_calm=calm)
