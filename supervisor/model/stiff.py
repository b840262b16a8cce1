"""The stiff filter: what the reading should be one second ahead, by furnace and power, for the watches.

It follows the firing like the estimate, but once a second and for one thing alone: the innovation, which is the reading
less what was expected of it. A healthy furnace keeps its means near zero; heat that nobody ordered, heat that does not
come, an open lid and a sensor on its way out all pull them away within half a minute.

A filter that goes on learning would explain a fault away, so its factors are frozen as soon as a watch speaks.
"""

from collections import deque
from math import isfinite
from typing import NamedTuple

from supervisor.furnace.description import FurnaceDescription
from supervisor.metal.charge import Charge
from supervisor.model.carried import Carried
from supervisor.model.learned import Model
from supervisor.model.outset import MASS, S

WINDOWS_S = (10, 30, 120, 300, 3, 600)
NOW_S, BETWEEN_S, BEFORE_S, LATELY_S = 2, 3, 8, 20
"""What is sudden: the mean of so many seconds against that of some before them, a few left out in between; and for
how long it counts as lately."""
SLOW_S, SUNK_S = 300, 600
"""What is slow: the mean of so many seconds against that of as many so long before."""
_SIZE = 1024  # a power of two over both together


class Quiet(NamedTuple):
    """Times in which the reading says little of the power, s: no innovation is reckoned meanwhile."""

    start_s: int = 300  # a cold sheath is late, and its first minutes follow nothing
    lid_s: int = 180  # after the lid was shut
    addition_s: int = 600  # after metal was put in, poured, or weighed again
    charged_warm_s: int = 600  # after a start with cold metal in a warm pot


QUIET = Quiet()


class Stiff(Carried):
    """Follows one firing from its start, second by second."""

    def __init__(
        self, furnace: FurnaceDescription, model: Model | None, *, reading_c: float, charge: Charge | None, warm: bool
    ) -> None:
        super().__init__(furnace, model, reading_c=reading_c, charge=charge)
        self._quiet_s = QUIET.charged_warm_s if warm else 0
        self._early_s = QUIET.start_s
        self._sums = [0.0] * _SIZE  # running, so that a mean is one subtraction
        self._reckoned = 0  # seconds in a row with an innovation
        self._told = 0  # of them, those that are not of the start
        self._breaks: deque[float] = deque(maxlen=LATELY_S)

    def go_on(self, reading_c: float | None, power_w: float, *, lid_open: bool) -> None:
        """One second more with this mean power. reading_c None: there is none.

        Raises:
            ValueError: a number that is none.
            LinAlgError: the belief fell apart; of no use from here on.
        """
        if not (isfinite(power_w) and (reading_c is None or isfinite(reading_c))):
            raise ValueError(f"the stiff filter was given reading {reading_c}, power {power_w}")
        self._carry(power_w, lid_open=lid_open, dt_s=1.0)
        if lid_open:
            self._hush(QUIET.lid_s)
        innovation_k = None if reading_c is None else self._read(reading_c, 1.0)
        early, self._early_s = self._early_s > 0, max(0, self._early_s - 1)
        if self._quiet_s > 0:
            self._quiet_s -= 1
        elif innovation_k is not None:
            at = self._reckoned + 1
            self._sums[at % _SIZE] = self._sums[(at - 1) % _SIZE] + innovation_k
            self._reckoned = at
            self._told += not early
            self._breaks.append(self.breaks_k() or 0.0)

    def mean_k(self, window_s: int, ago_s: int = 0) -> float | None:
        """Mean innovation over the window that ended ago_s ago, K; None while they are not all reckoned."""
        return self._mean_k(window_s, ago_s) if self._told >= window_s + ago_s else None

    def _mean_k(self, window_s: int, ago_s: int = 0) -> float:
        end = self._reckoned - ago_s
        return (self._sums[end % _SIZE] - self._sums[(end - window_s) % _SIZE]) / window_s

    def breaks_k(self) -> float | None:
        """By how much the reading has fallen below what was expected within the last seconds, K, negative.

        Slow errors of the model are in the seconds before as well, also those of a start. What comes back from above
        has not fallen below.
        """
        if self._reckoned < NOW_S + BETWEEN_S + BEFORE_S:
            return None
        now_k = self._mean_k(NOW_S)
        return max(now_k - self._mean_k(BEFORE_S, NOW_S + BETWEEN_S), now_k)

    def broke_k(self) -> float:
        """The lowest of that lately."""
        return min(self._breaks, default=0.0)

    def sunk_k(self) -> float | None:
        """How far the reading has run low for long, and lower than it did before, K: the milder of both, negative.

        What the model has wrong for good is in both, and has not sunk.
        """
        now_k, before_k = self.mean_k(SLOW_S), self.mean_k(SLOW_S, SUNK_S)
        long_k = self.mean_k(SUNK_S)
        if now_k is None or before_k is None or long_k is None:
            return None
        return max(long_k, now_k - before_k)

    def put_in(self, mass_kg: float, charge: Charge | None) -> None:
        """Metal goes into the pot, at the room's temperature. charge: None if nobody knows what it is.

        Raises:
            ValueError: mass_kg out of range.
        """
        super().put_in(mass_kg, charge)
        self._hush(QUIET.addition_s)

    def pour(self) -> None:
        """The metal was poured: the pot is taken to be empty."""
        super().pour()
        self._hush(QUIET.addition_s)

    def weigh(self, mass_kg: float) -> None:
        """The charge was weighed again: it is so much from now on."""
        self._entered_kg = mass_kg
        self._hush(QUIET.addition_s)

    def freeze(self) -> None:
        """A watch has spoken: what is learned of the furnace moves no more in this firing."""
        self._learns[S:MASS] = 0.0

    def _hush(self, seconds: int) -> None:
        self._quiet_s = max(self._quiet_s, seconds)
        self._reckoned, self._told, self._sums[0] = 0, 0, 0.0
        self._breaks.clear()


__all__ = ["QUIET", "WINDOWS_S", "Quiet", "Stiff"]
