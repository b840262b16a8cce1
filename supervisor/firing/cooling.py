"""Metal that an earlier heat left in the pot: what is known of its cooling."""

from dataclasses import dataclass
from math import inf

from supervisor.model.cooling import SlowestCooling
from supervisor.model.touch import CoolDown

HOTTER_K = 30.0
"""How much hotter than the hottest reading anything in the furnace may have been (our choice)."""


@dataclass(slots=True)
class Cooling:
    """What is known of it. Changed by `solid` alone, once a second, and by `aftermath` as a supervisor begins."""

    heated_s: float = -inf  # when heat was last not proved off, process time
    seen_s: float = -inf  # the same, as far as this computer's own clock proves it: the rest is known by dates
    hottest_c: float = 0.0  # what anything may have been since the metal went in
    doubted: bool = False  # the sensor was: what it says proves nothing
    slowest: SlowestCooling | None = None  # None: nothing is reckoned, as in a rehearsal
    down: CoolDown | None = None  # the same

    @property
    def slowest_s(self) -> float:
        """How long it may stay liquid after the last heat; infinite: not reckoned."""
        return inf if self.slowest is None else self.slowest.after_s(self.hottest_c)

    @property
    def solid_from_s(self) -> float:
        """Process time from which it is solid at the latest, if the dates are right; infinite: not reckoned."""
        return self.heated_s + self.slowest_s
