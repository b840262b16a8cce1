"""Age or mains: what made the power of a firing what it was."""

from collections.abc import Sequence
from typing import NamedTuple

from supervisor.care.figures import Figures


class Told(NamedTuple):
    """Age or mains: what made the power of one firing what it was."""

    power_share: float  # of the first firings'
    age_share: float | None  # of the power, by age alone; None: not to be told
    mains_share: float | None
    cause: str  # age, mains, both, neither, unknown
    words: str


TOLD = 0.05
"""A share of the power by which it must have moved to be named (our choice)."""


def age_or_mains(new: Sequence[Figures], now: Figures) -> Told | None:
    """Why the power of a firing is not that of the first ones. new: the firings that count as new. None: no meter.

    With a voltage read in both it is arithmetic; without one a firing cannot tell, and it says so.
    """
    first = [each.element for each in new if each.element is not None]
    element = now.element
    if element is None or not first:
        return None
    before_w = sum(each.power_w for each in first) / len(first)
    power = element.power_w / before_w
    ohms = [each.ohm for each in first if each.ohm is not None]
    if element.ohm is None or not ohms:
        cause = "neither" if abs(power - 1.0) < TOLD else "unknown"
        words = f"Power is {100.0 * power:.0f} % of the first firings'."
        if cause == "unknown":
            words += " Age or mains: not to be told without a voltage read while it heats."
        return Told(power, None, None, cause, words)
    age = (sum(ohms) / len(ohms)) / element.ohm
    mains = power / age
    old, low = age <= 1.0 - TOLD, abs(mains - 1.0) >= TOLD
    cause = "both" if old and low else "age" if old else "mains" if low else "neither"
    return Told(power, age, mains, cause, _told(power, age, mains, element.volt))


def _told(power: float, age: float, mains: float, volt: float | None) -> str:
    return (
        f"Power is {100.0 * power:.0f} % of the first firings': the element's age makes it {100.0 * age:.0f} %, mains"
        f"{'' if volt is None else f' at {volt:.0f} V'} {100.0 * mains:.0f} %."
    )
