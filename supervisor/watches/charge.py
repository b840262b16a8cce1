"""Watches over the charge: is there as much metal in the pot as was entered, and does it take up the heat?"""

from dataclasses import dataclass

from supervisor.firing.states import HEATED, State
from supervisor.watches.finding import ADVISE, Finding, Reaction
from supervisor.watches.view import View


@dataclass(frozen=True, slots=True)
class MassDoubted:
    """At the gate the reading was not what the entered mass should give. A press or a new mass answers it."""

    id: str = "mass-doubted"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """What the look at the gate found."""
        run = view.firing.run
        if run is None or run.mass_doubt is None or run.mass_confirmed:
            return None
        return Finding(self.id, self.reaction, run.mass_doubt.evidence)


@dataclass(frozen=True, slots=True)
class MetalMissing:
    """The reading has gone above what the power gives: metal is missing, or hangs over the melt and takes up no heat.

    The estimate's open loop finds it, on learned furnaces alone. Which of the two it is nothing here can tell. A
    reading below is a doubt on the page and no alarm: a healthy furnace that is heated as fast as it goes comes to it.
    """

    id: str = "metal-missing"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """What the estimate suspects; it goes on suspecting it to the firing's end."""
        estimate = view.firing.adviser.estimate
        if estimate is None or not estimate.missing:
            return None
        return Finding(self.id, self.reaction, estimate.missing)


@dataclass(frozen=True, slots=True)
class QuarantinedMetal:
    """Metal that is in the pot was put under quarantine in the book. Heat goes on: half-melted it is no better."""

    id: str = "quarantined-metal"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """What the book's note says."""
        run = view.firing.run
        return None if run is None or not run.quarantined else Finding(self.id, self.reaction, run.quarantined)
