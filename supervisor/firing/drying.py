"""Drying a lining: a hold ends when the power that it needs says that no more water leaves at this temperature.

Water takes 2.6 MJ for each kilogram that becomes steam, so a wet lining needs more power than a dry one for the same
temperature, and the share that is too much shrinks as it dries. How much a dry lining needs nobody knows within a fifth
before it is learned, but that share is the same at all temperatures: a need over the expected one that has stopped
falling, over an hour and from one hold to the next, is what says "dry". Simulated only: docs/dry_out.md.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from supervisor.firing.profile import Hold
from supervisor.firing.setpoint import Walk

BLOCK_S = 600.0
BLOCKS = 5
"""So many blocks are held against as many before them: 50 min (our choice, by simulation)."""
FALLS, RISES = 0.015, 0.035
"""Share by which the need over the expected one may still fall, or rise, from the one to the other (our choice, by
simulation). At first it rises: the wet brick behind the hot face warms up, and steams more."""
FROM_HOLD_TO_HOLD = 0.01
"""Share by which it may be lower in a hotter hold: more is water that left on the way there (our choice)."""
AT_LEVEL_K = 5.0


class DriedAt(NamedTuple):
    """One hold that ended because the power said so."""

    at_c: float
    minutes: float
    need: float  # power needed over what a dry lining was expected to need, at its end


@dataclass(slots=True)
class Drying:
    """What a dry-out has seen of the power in this hold, and of its holds so far."""

    segment: int = -1
    seconds: float = 0.0
    blocks: list[float] = field(default_factory=list)
    holds: list[DriedAt] = field(default_factory=list)
    _needed: float = 0.0
    _expected: float = 0.0
    _in_block_s: float = 0.0

    @property
    def need(self) -> float | None:
        """Power needed over the expected one in the last blocks; None: too early to say."""
        return sum(self.blocks[-BLOCKS:]) / BLOCKS if len(self.blocks) >= BLOCKS else None

    @property
    def dry(self) -> bool:
        """At this temperature it has stopped to fall, and no longer rises."""
        if len(self.blocks) < 2 * BLOCKS:
            return False
        before = sum(self.blocks[-2 * BLOCKS : -BLOCKS]) / BLOCKS
        now = sum(self.blocks[-BLOCKS:]) / BLOCKS
        return before * (1.0 - FALLS) <= now <= before * (1.0 + RISES)


def see(drying: Drying, walk: Walk, reading_c: float, duty: float, expected: float, dt_s: float) -> bool:
    """Take a second of a hold that ends when the lining is dry; whether it may end now.

    duty: as given; expected: what a dry lining would need here and now. Not for seconds without heat.
    """
    if walk.done or not isinstance(segment := walk.profile.segments[walk.segment], Hold) or not segment.until_dry:
        return False
    if drying.segment != walk.segment:
        _anew(drying, walk.segment)
    if walk.setpoint_c != walk.target_c or abs(reading_c - walk.target_c) > AT_LEVEL_K:
        return drying.dry
    drying.seconds += dt_s
    drying._needed += duty * dt_s
    drying._expected += max(expected, 0.001) * dt_s
    drying._in_block_s += dt_s
    if drying._in_block_s >= BLOCK_S:
        drying.blocks.append(drying._needed / drying._expected)
        drying._needed = drying._expected = drying._in_block_s = 0.0
    return drying.dry


def left(drying: Drying, walk: Walk, at_c: float) -> DriedAt | None:
    """The hold that the setpoint has left just now, as it goes into the record; None: it was none, or is still on."""
    if drying.segment < 0 or walk.segment == drying.segment or drying.need is None:
        return None
    done = DriedAt(at_c, round(drying.seconds / 60.0, 1), round(drying.need, 4))
    drying.holds.append(done)
    _anew(drying, -1)
    return done


def is_dry(holds: Sequence[DriedAt]) -> bool:
    """Whether the holds of one firing say that the lining is dry: the need did not fall from one to the next hotter."""
    if len(holds) < 2 or not holds[-1].at_c > holds[-2].at_c:
        return False
    return holds[-1].need >= holds[-2].need * (1.0 - FROM_HOLD_TO_HOLD)


def from_record(results: dict[str, Any]) -> list[DriedAt]:
    """The holds of a closed firing, by its closing record."""
    return [DriedAt(*each) for each in results.get("dried", ())]


def _anew(drying: Drying, segment: int) -> None:
    drying.segment, drying.seconds, drying.blocks = segment, 0.0, []
    drying._needed = drying._expected = drying._in_block_s = 0.0
