"""No number is said finer than it is known: temperatures, minutes and shares as coarse as their bands."""

from math import ceil
from typing import NamedTuple

SHARES = (
    "all solid",
    "about a quarter molten",
    "about half molten",
    "about three quarters molten",
    "molten but for little",
)
"""What is said of so many quarters."""

_ENDS = ("none", "a quarter", "half", "three quarters", "all")
_MOST_SPREAD = 2  # quarters; a share that may be further out is said as a range
NEARLY_MIN = 3.0
"""Below so many likely minutes nothing is counted down any more."""


class About(NamedTuple):
    """A temperature in °C and how far it may be off, both rounded as coarsely as the band asks."""

    c: int
    band_k: int


def about(c: float, low_c: float, high_c: float) -> About:
    """The estimate as a person reads it: 641.3 from 618 to 663 is 640 give or take 25."""
    half_k = max(high_c - c, c - low_c)
    step = 10 if half_k >= 20.0 else 5 if half_k >= 5.0 else 1
    shown = step * round(c / step)
    fine = 1 if step == 1 else 5
    return About(shown, fine * ceil(max(high_c - shown, shown - low_c, 1.0) / fine))


def quarters(low: float, likely: float, high: float) -> int | None:
    """The share molten, 0 to 1, in quarters; None: it is not even known to a quarter or two."""
    return None if round(4 * high) - round(4 * low) > _MOST_SPREAD else round(4 * likely)


def share(low: float, likely: float, high: float) -> str:
    """The share molten in words: 'about half molten', or 'at least a quarter molten'."""
    near = quarters(low, likely, high)
    if near is not None:
        return SHARES[near]
    least, most = round(4 * low), round(4 * high)
    if (least, most) == (0, 4):
        return "anything from solid to molten"
    return f"at least {_ENDS[least]} molten" if most == 4 else f"at most {_ENDS[most]} molten"


def give_or_take(likely: float, low: float, high: float) -> int:
    """How far minutes may be off, the larger side, in whole minutes."""
    return max(1, ceil(max(high - likely, likely - low)))


def countdown(likely_min: float) -> str:
    """'about 12 min'; it stands at 'about 3 min', and then it is 'nearly there'."""
    return "nearly there" if likely_min < NEARLY_MIN else f"about {max(3, round(likely_min))} min"
