"""How old the element is, and how many melts it has left, with a band.

A heating wire's resistance grows as its section is eaten away: a tenth more is the mark at which people look, a fifth
the one at which they change it (common practice, no source). Growth never turns back; mains do. Where a voltage was
read, mains are taken out of the figure; where none was, a firing says as little as mains are steady, and the band says
so.
"""

from collections.abc import Sequence
from math import hypot
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from supervisor.care.figures import Figures

LOOK, CHANGE = 0.10, 0.20
"""Growth of the resistance at which it is looked at, and changed (common practice, no source)."""
MAINS_SD = 0.04
"""Of supply voltage from firing to firing, as a share: EN 50160 allows 10 % either way (from memory); our choice."""
SCATTER = 0.006
"""What hot resistance scatters from firing to firing beside its reading: how hot it was (our choice)."""
POWERS = (0.6, 0.8, 1.0, 1.3, 1.6, 2.0, 2.5)
"""Growth goes with use to one of these powers: it may slow down under its oxide, or run away at a thin place."""
PRIOR_FIRINGS = (25.0, 1000.0)
"""So many firings to the change, evenly on a logarithmic scale, before any was seen (our choice)."""
MANY = 300
"""More melts than that are not told as a number: nobody knows so far ahead (our choice)."""
UNEVEN = 0.35
"""How unevenly it ages from one firing to the next, as a share of its growth in ten of them (our choice)."""

Floats = NDArray[np.float64]


class Grown(NamedTuple):
    """The element after one firing: growth of its resistance over the first firings, as a share; 90 % band."""

    firing_id: int
    share: float
    low: float
    high: float
    read: bool  # a voltage was read: mains are out of it


class Left(NamedTuple):
    """Firings left until the element is to be changed; 90 % band. None: nothing to go by yet."""

    likely: int | None
    low: int | None
    high: int | None
    grown: float | None
    grown_sd: float | None
    state: str  # new, look, change, unknown
    words: str


def points(figures: Sequence[Figures]) -> list[tuple[int, float, float, bool]]:
    """(firing, logarithm of ohms, its standard deviation, mains taken out) of all firings that say anything."""
    found = []
    for each in figures:
        element = each.element
        if element is None:
            continue
        if element.ohm is not None:
            found.append((each.firing_id, float(np.log(element.ohm)), hypot(element.sd, SCATTER), True))
        else:
            sd = hypot(2.0 * MAINS_SD, element.sd, SCATTER)
            found.append((each.firing_id, float(np.log(element.apparent_ohm)), sd, False))
    return found


class _Grid:
    """Every course that the ageing may have taken, with its weight: how long to the change, by which power."""

    def __init__(self, seen: Sequence[tuple[int, float, float, bool]]) -> None:
        self.used = np.arange(1, len(seen) + 1, dtype=np.float64)
        life = np.geomspace(*PRIOR_FIRINGS, 60)
        powers = np.array(POWERS)
        self.life, self.power = (each.ravel() for each in np.meshgrid(life, powers, indexing="ij"))
        grown = np.log1p(CHANGE * (self.used[:, None] / self.life) ** self.power)  # (K, G)
        y, sd = np.array([each[1] for each in seen]), np.array([each[2] for each in seen])
        # The level of a new element is free: it is taken out in closed form for each course.
        variance = sd[:, None] ** 2 + 0.1 * (UNEVEN * grown) ** 2
        precision = 1.0 / variance
        level = ((y[:, None] - grown) * precision).sum(0) / precision.sum(0)
        off = y[:, None] - grown - level
        log_likelihood = -0.5 * (off**2 * precision + np.log(variance)).sum(0) - 0.5 * np.log(precision.sum(0))
        log_weight = log_likelihood - log_likelihood.max()
        self.weight = np.exp(log_weight) / np.exp(log_weight).sum()
        self.grown_now = grown[-1]


def melts_left(figures: Sequence[Figures]) -> Left:
    """Firings left until the resistance has grown by a fifth, from all firings with this element, the oldest first."""
    seen = points(figures)
    if len(seen) < 3:
        return Left(None, None, None, None, None, "unknown", _unknown(len(figures), len(seen)))
    grid = _Grid(seen)
    grown, grown_sd = _moments(np.expm1(grid.grown_now), grid.weight)
    at = np.clip(grid.life - grid.used[-1], 0.0, None)
    # The last steps are as uneven as the ones before: half of the steps to go, one standard deviation.
    order = np.argsort(at)
    spread = np.cumsum(grid.weight[order])
    low, likely, high = (float(at[order][min(int(np.searchsorted(spread, q)), len(at) - 1)]) for q in (0.05, 0.5, 0.95))
    low, high = low * (1.0 - 0.15), high * 1.15 + 1.0
    state = "change" if grown >= CHANGE else "look" if grown >= LOOK else "new"
    read = any(each[3] for each in seen[-5:])
    words = _words(grown, grown_sd, round(low), round(high), read)
    return Left(round(likely), round(low), round(high), round(grown, 4), round(grown_sd, 4), state, words)


def growth(figures: Sequence[Figures]) -> list[Grown]:
    """The element's growth after each firing, by what was known by then and later: smooth, with a band."""
    seen = points(figures)
    if len(seen) < 3:
        return []
    grid = _Grid(seen)
    found = []
    for number, (firing_id, _, _, read) in enumerate(seen, start=1):
        share = np.expm1(np.log1p(CHANGE * (number / grid.life) ** grid.power))
        middle, sd = _moments(share, grid.weight)
        found.append(
            Grown(
                firing_id,
                round(middle, 4),
                round(max(0.0, middle - 1.645 * sd), 4),
                round(middle + 1.645 * sd, 4),
                read,
            )
        )
    return found


def _moments(values: Floats, weight: Floats) -> tuple[float, float]:
    middle = float((values * weight).sum())
    return middle, float(np.sqrt(((values - middle) ** 2 * weight).sum()))


def _unknown(firings: int, seen: int) -> str:
    if firings and not seen:
        return (
            "Nothing is known of it: an energy meter says what power it takes, and a voltage read beside it the rest."
        )
    return f"Not known yet: {3 - seen} more firing{'s' * (3 - seen != 1)} with the meter say how it ages."


def _words(grown: float, sd: float, low: int, high: int, read: bool) -> str:
    share = f"resistance up {100.0 * grown:.0f} % (±{164.0 * sd:.0f})"
    left = f"{low} to {high} melts left" if high <= MANY else f"{low} melts left or more"
    if grown >= CHANGE:
        left = "change it: the mark of a fifth is passed"
    doubt = (
        "" if read else ". No voltage was read of late: low mains look the same; read one while it heats at full power"
    )
    return f"{left[:1].upper()}{left[1:]}; {share}{doubt}."
