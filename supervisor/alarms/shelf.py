"""Shelving: a person puts an alarm's sound and flashing aside for a while, with a reason. Its reaction goes on.

Nothing that trips, latches, ends a firing or asks for an act at once can be shelved.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from supervisor.alarms.texts import TEXTS
from supervisor.watches.finding import Reaction, Then

if TYPE_CHECKING:  # the alarms keep the shelves
    from supervisor.alarms.lifecycle import Alarms


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


def shelvable(alarms: "Alarms") -> Iterator[str]:
    """The alarms that are shown and may be shelved, by their watches."""
    for watch, standing in alarms.standing.items():
        shown = standing.shown and standing.number > 0 and TEXTS[watch].priority > 0
        if shown and watch not in alarms.shelves and not never_shelved(watch, standing.reaction):
            yield watch
