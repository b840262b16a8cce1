"""One alarm: where it is in its life, and what is remembered of it."""

from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple

from supervisor.watches.finding import NOTHING, Reaction


class AlarmState(Enum):
    """Where an alarm is in its life."""

    NORMAL = "normal"
    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    RETURNED = "was, unacknowledged"
    LATCHED_UNACKNOWLEDGED = "latched, unacknowledged"
    LATCHED = "latched, acknowledged"
    SHELVED = "shelved"
    SUPPRESSED = "suppressed"  # by design: not asked in this state of the firing, where it means nothing


@dataclass(slots=True)
class Standing:
    """One watch that has spoken: its last answers, one bit each, and what stands."""

    bits: int = 0
    stands: bool = False  # its condition is there now: its reaction counts
    told: bool = False  # and a person was told
    acknowledged: bool = False
    at_furnace: bool = False  # the acknowledgement was a press at the furnace
    latched: bool = False
    number: int = 0  # how often it has been raised
    since_s: float = 0.0
    heard_s: float = 0.0  # from when its rhythm counts: raised, or taken from the shelf
    evidence: str = ""
    reaction: Reaction = NOTHING
    first_out: bool = False
    follows: str = ""  # the alarm that leads its upset; empty: none
    folded: bool = False  # shown under that one, without a sound of its own

    @property
    def active(self) -> bool:
        """Its reaction counts."""
        return self.stands or self.latched

    @property
    def shown(self) -> bool:
        """There is something for a person to see."""
        return self.active or (self.number > 0 and not self.acknowledged)

    @property
    def state(self) -> AlarmState:
        """Where it is in its life, shelves and suppression apart."""
        if self.stands:
            return AlarmState.ACKNOWLEDGED if self.acknowledged else AlarmState.UNACKNOWLEDGED
        if self.latched:
            return AlarmState.LATCHED if self.acknowledged else AlarmState.LATCHED_UNACKNOWLEDGED
        return AlarmState.RETURNED if self.shown else AlarmState.NORMAL


@dataclass(slots=True)
class Step:
    """One step in an alarm's life."""

    watch: str
    step: str  # raised, acknowledged, returned, reset; shelved, unshelved
    standing: Standing


class Call(NamedTuple):
    """The most urgent alarm that sounds or flashes now: its priority, and since when its rhythm counts."""

    priority: int
    since_s: float
