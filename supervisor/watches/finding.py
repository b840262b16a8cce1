"""What a watch says, and what must follow from it."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum
from math import inf
from typing import NamedTuple


class Then(IntEnum):
    """What the firing does next, weakest first."""

    GO_ON = 0
    HOLD = 1
    STOP = 2
    ABORT = 3


class Leave(IntEnum):
    """Who may end it once its cause is gone, weakest first."""

    BY_ITSELF = 0
    BY_A_PERSON = 1
    BY_A_PRESS = 2


@dataclass(frozen=True, slots=True)
class Reaction:
    """What must follow from a finding, field by field: what one finding asks, no other can take back."""

    then: Then = Then.GO_ON
    duty_ceiling: float = 1.0  # 0: no heat
    setpoint_ceiling_c: float = inf
    drop_contactor: bool = False
    latch: bool = False
    keep_away: bool = False
    leave: Leave = Leave.BY_ITSELF

    def __or__(self, other: "Reaction") -> "Reaction":
        """The stronger of each field: commutative, associative, idempotent; it never weakens."""
        return Reaction(
            max(self.then, other.then),
            min(self.duty_ceiling, other.duty_ceiling),
            min(self.setpoint_ceiling_c, other.setpoint_ceiling_c),
            self.drop_contactor or other.drop_contactor,
            self.latch or other.latch,
            self.keep_away or other.keep_away,
            max(self.leave, other.leave),
        )


def join(reactions: Iterable[Reaction]) -> Reaction:
    """Everything that any of them asks."""
    joined = NOTHING
    for reaction in reactions:
        joined = joined | reaction
    return joined


NOTHING = Reaction()
ADVISE = NOTHING
NO_HEAT = Reaction(duty_ceiling=0.0)
HOLD_WITH_HEAT = Reaction(Then.HOLD)
HOLD_WITHOUT_HEAT = Reaction(Then.HOLD, duty_ceiling=0.0)
CONTROLLED_STOP = Reaction(Then.STOP, duty_ceiling=0.0, drop_contactor=True)
TRIP = Reaction(Then.ABORT, duty_ceiling=0.0, drop_contactor=True, latch=True, leave=Leave.BY_A_PRESS)
TRIP_KEEP_AWAY = TRIP | Reaction(keep_away=True)


class Finding(NamedTuple):
    """One watch speaks: its id, what must follow, and the evidence in words with figures."""

    watch: str
    reaction: Reaction
    evidence: str
