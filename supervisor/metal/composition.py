"""What is in a piece of metal, in wt%, with a band: from an alloy's limits, from how sure somebody is, or measured.

Nothing here was analysed unless somebody typed in an analysis. The rule for limits: an element with both counts at the
midpoint, one with only a maximum at half of it, what is not listed at nothing, aluminium by difference.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

from supervisor.metal.alloys import ELEMENTS, UNKNOWN, Alloy, alloy, table
from supervisor.refusal import InputRefused

ALUMINIUM = "Al"

SURENESS = {
    "measured": (1.0, "an analysis, or a maker's certificate for this very piece"),
    "marked": (1.0, "a stamp or a label on it"),
    "likely": (2.0, "what it was made for says so"),
    "guess": (4.0, "it looks like it"),
    "unknown": (0.0, "nobody can say"),
}
"""How sure somebody is of an alloy: how often the half width of its limits the band is wide, and the words (ours)."""

MEASURED_SHARE, MEASURED_LEAST = 0.10, 0.01
"""The band of a measured element: a tenth of it, and 0.01 % at least (our choice)."""

WHOLE_PCT = 90.0
"""So much at least an analysis that names aluminium accounts for (our choice): less is no whole metal."""

ASSUMED = {"1100": {"Si": 0.12, "Fe": 0.35}}
"""1100 limits silicon and iron together (0.95 %): reckoned with a usual share of each."""


@dataclass(frozen=True, slots=True)
class Composition:
    """Each wt%, aluminium included. likely is empty when nobody knows: then low and high alone hold."""

    likely: Mapping[str, float]
    low: Mapping[str, float]
    high: Mapping[str, float]

    @property
    def known(self) -> bool:
        """There is a likely composition."""
        return bool(self.likely)

    def give(self, element: str) -> float:
        """Half the width of an element's band, wt%."""
        return (self.high.get(element, 0.0) - self.low.get(element, 0.0)) / 2.0


def of_alloy(name: str, certainty: str = "marked", measured: Mapping[str, float] | None = None) -> Composition:
    """What is likely in metal that somebody takes for this alloy.

    certainty: a key of SURENESS. measured: wt% of single elements that are known better.

    Raises:
        InputRefused: no such alloy or certainty, or percentages that cannot be.
    """
    if certainty not in SURENESS:
        raise InputRefused(f"certainty is {certainty!r}; allowed: {', '.join(SURENESS)}")
    known = checked_percentages(measured or {}, "measured")
    if name == UNKNOWN or certainty == "unknown":
        return _with_measured(unknown(), known) if ALUMINIUM not in known else of_percentages(known)
    times = SURENESS[certainty][0]
    found = alloy(name)
    likely, half = {}, {}
    for element in ELEMENTS:
        middle, width = _middle(found, element)
        likely[element], half[element] = middle, times * width
    return _with_measured(_by_difference(likely, half), known)


def of_percentages(percent: Mapping[str, float]) -> Composition:
    """A composition that somebody gives whole, wt%; aluminium by difference where it is not given.

    Raises:
        InputRefused: a percentage that cannot be, more than 100 % together, or so little that it is not the whole.
    """
    known = checked_percentages(percent, "composition")
    if ALUMINIUM not in known:
        known[ALUMINIUM] = 100.0 - sum(known.values())
    if (total := sum(known.values())) < WHOLE_PCT:
        raise InputRefused(
            f"composition: with aluminium named, all elements are {total:.2f} %; allowed: {WHOLE_PCT:g} to 100 %"
        )
    half = {element: _give(value) for element, value in known.items() if element != ALUMINIUM}
    half[ALUMINIUM] = sum(value**2 for value in half.values()) ** 0.5
    return _band(known, half)


def unknown() -> Composition:
    """Metal of which nobody can say what it is: between nothing and the most that any row of the table allows."""
    most = {element: _most_of_any(element) for element in ELEMENTS}
    low = dict.fromkeys((*ELEMENTS, ALUMINIUM), 0.0)
    return Composition({}, low, {**most, ALUMINIUM: 100.0})


def checked_percentages(percent: Mapping[str, float], source: str) -> dict[str, float]:
    """Percentages as they were given, if they can be.

    Raises:
        InputRefused: one below 0 or above 100 %, an element that is none, or more than 100 % together.
    """
    for element, value in percent.items():
        if not (element.isalpha() and element.isascii() and element[:1].isupper() and len(element) <= 2):
            raise InputRefused(f"{source}: element is {element!r}; allowed: a chemical symbol, as Si or Mg")
        if not (isinstance(value, int | float) and isfinite(value) and 0.0 <= value <= 100.0):
            raise InputRefused(f"{source}: {element} is {value} %; allowed: 0 to 100 %")
    total = sum(percent.values())
    if total > 100.0 + 0.05:  # as printed to a hundredth, a whole analysis may come to a little more
        raise InputRefused(f"{source}: all elements together are {total:.2f} %; allowed: up to 100 %")
    return {element: float(value) for element, value in percent.items()}


def _middle(found: Alloy, element: str) -> tuple[float, float]:
    """Where an element likely stands in an alloy, and half the width of what its limits allow, both wt%."""
    assumed = ASSUMED.get(found.name, {}).get(element)
    if assumed is not None:
        return assumed, assumed
    least, most = found.limits.get(element, (None, None))
    if most is None:
        return 0.0, 0.0 if found.others_each_max is None else found.others_each_max / 2.0
    if least is None:
        return most / 2.0, most / 2.0
    return (least + most) / 2.0, (most - least) / 2.0


def _by_difference(likely: Mapping[str, float], half: Mapping[str, float]) -> Composition:
    whole = {**likely, ALUMINIUM: 100.0 - sum(likely.values())}
    return _band(whole, {**half, ALUMINIUM: sum(value**2 for value in half.values()) ** 0.5})


def _band(likely: Mapping[str, float], half: Mapping[str, float]) -> Composition:
    low = {element: max(0.0, value - half[element]) for element, value in likely.items()}
    # What is taken for absent may be there all the same, up to the whole width.
    high = {element: min(100.0, (value or half[element]) + half[element]) for element, value in likely.items()}
    return Composition(dict(likely), low, high)


def _with_measured(found: Composition, measured: Mapping[str, float]) -> Composition:
    if not measured:
        return found
    low, high, likely = dict(found.low), dict(found.high), dict(found.likely)
    for element, value in measured.items():
        low[element], high[element] = max(0.0, value - _give(value)), min(100.0, value + _give(value))
        if likely:
            likely[element] = value
    if likely and ALUMINIUM not in measured:
        likely[ALUMINIUM] = 100.0 - sum(value for element, value in likely.items() if element != ALUMINIUM)
    if likely and likely[ALUMINIUM] < 0.0:
        total = 100.0 - likely[ALUMINIUM]
        raise InputRefused(f"measured: with the rest of the alloy all elements are {total:.2f} %; allowed: up to 100 %")
    return Composition(likely, low, high)


def _give(value: float) -> float:
    return max(MEASURED_LEAST, MEASURED_SHARE * value)


def _most_of_any(element: str) -> float:
    return max(found.limits[element].most or 0.0 if element in found.limits else 0.0 for found in table().values())
