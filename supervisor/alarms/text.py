"""What one alarm is in words, and the times that there usually are to act."""

from typing import NamedTuple

NOW_S, SOON_S, MELT_S = 60.0, 600.0, 3600.0
"""The times there usually are to act: in danger; to look after what has already acted, or within ten minutes; in this
melt (our choice)."""


class Text(NamedTuple):
    """One watch in words."""

    title: str  # what it looks for
    sentence: str  # the cause, when it speaks
    consequence: str  # what comes of it, or is so already
    act: str  # the one thing to do; empty only where priority is 0
    priority: int
    act_within_s: float = 0.0  # how long there is to do it; more than 0 for every alarm
    about: str = "furnace"  # furnace, machine, people: only alarms about the same fold under one another
