"""What a firing without metal has done to what lay in the chamber: held at a temperature for a time, by its own record.

The thermocouple reads the chamber, not the inside of a bag of chips or of a thick bar: they lag behind. So a proof asks
for a long stretch, counted from when the chamber was there, and says of itself what it is.
"""

from collections.abc import Sequence
from typing import NamedTuple

DRY_AT_C = 150.0
"""Practice wants everything that touches liquid metal above this; no published source."""

DRY_FOR_MIN = {"lot": 120, "ingot": 120, "mould": 30}
"""So long at least, by what it is (our choice): a heap of scrap warms slowly, an open mould quickly."""

AGE_AT_C, AGE_BELOW_C = 150.0, 220.0
"""Between these a bar is artificially aged; hotter it is softened again (our choice, around practice's 155 to 205)."""

AGE_FOR_MIN = 120

READINGS_OF_A_MINUTE = 0.9
"""Of a minute's samples so many must have a reading, or nobody knows what it was."""


class Minute(NamedTuple):
    """One minute of a firing's record."""

    minute: int  # since its start
    samples: int
    readings: int
    least_c: float | None


class Held(NamedTuple):
    """A stretch in which the chamber was held at a temperature or above."""

    from_min: int
    to_min: int  # the minute after the last one
    least_c: float

    @property
    def minutes(self) -> int:
        """How long."""
        return self.to_min - self.from_min


def longest_held(minutes: Sequence[Minute], at_least_c: float, below_c: float | None = None) -> Held | None:
    """The longest stretch in which no reading was below a temperature; a minute that is missing or blind ends it."""
    best: Held | None = None
    begun: int | None = None
    least_c = 0.0
    last = -1
    for each in minutes:
        fits = _fits(each, at_least_c, below_c)
        if begun is not None and (not fits or each.minute != last + 1):
            best, begun = _longer(best, Held(begun, last + 1, least_c)), None
        if fits and each.least_c is not None:
            least_c = each.least_c if begun is None else min(least_c, each.least_c)
            begun = each.minute if begun is None else begun
            last = each.minute
    return best if begun is None else _longer(best, Held(begun, last + 1, least_c))


def _fits(each: Minute, at_least_c: float, below_c: float | None) -> bool:
    if each.least_c is None or each.readings < READINGS_OF_A_MINUTE * max(each.samples, 1):
        return False
    return each.least_c >= at_least_c and (below_c is None or each.least_c < below_c)


def _longer(one: Held | None, other: Held) -> Held:
    return other if one is None or other.minutes > one.minutes else one


def best_held(minutes: Sequence[Minute], why: str, kind: str) -> tuple[Held | None, str]:
    """What a firing proves of a thing that lay in it, and why it proves nothing; one of the two is empty.

    why: 'dry', 'warm' or 'age'. kind: 'lot', 'ingot' or 'mould'.
    """
    at_c, below_c = (AGE_AT_C, AGE_BELOW_C) if why == "age" else (DRY_AT_C, None)
    want_min = AGE_FOR_MIN if why == "age" else DRY_FOR_MIN[kind]
    held = longest_held(minutes, at_c, below_c)
    if held is not None and held.minutes >= want_min:
        return held, ""
    was = "never reached it" if held is None else f"was there for {held.minutes} min"
    between = f"{at_c:.0f} to {below_c:.0f} °C" if below_c is not None else f"{at_c:.0f} °C or more"
    return None, f"It proves nothing: {want_min} min at {between} are wanted, the chamber {was}."
