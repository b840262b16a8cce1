"""Watches over the charge: is there as much metal in the pot as was entered?"""

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
