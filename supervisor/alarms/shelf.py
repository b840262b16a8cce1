"""Shelving: a person puts an alarm's sound and flashing aside for a while, with a reason. Its reaction goes on.

Nothing that trips, latches, ends a firing or asks for an act at once can be shelved.
"""

from typing import NamedTuple

from supervisor.alarms.texts import TEXTS
from supervisor.watches.finding import Reaction, Then

LONGEST_MIN = 30.0


class Shelf(NamedTuple):
    """One alarm put aside: until when, why, and by whom."""

    until_s: float
    reason: str
    who: str


def never_shelved(watch: str, reaction: Reaction) -> str:
    """Why this watch's alarm cannot be shelved; empty: it can."""
    if reaction.latch or reaction.then >= Then.STOP:
        return "What ends a firing cannot be shelved."
    if TEXTS[watch].priority == 1:
        return "What asks for an act now cannot be shelved."
    return ""
