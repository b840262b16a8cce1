"""Is the sensor still true? Its history of melting metal, dips, cold checks, what it has been through, what is due."""

from collections.abc import Sequence
from math import log10, sqrt
from statistics import mean, stdev
from typing import NamedTuple

from supervisor.refusal import refusal

REFERENCE = 3
"""Melts that a sensor is held against: its first ones (our choice)."""
KNOWN_SD_K = 2.0
"""Repeatability of one melt of known metal. Simulated: 0.6 K to 2.5 K, mains and mass a few per cent off."""
LEAST_FOUND_K = 6.5
"""A smaller difference is no finding, however well it repeats (our choice: a healthy pair of melts stays below)."""
FOUND_SD = 3.0
ADVISE_MELTS, ADVISE_HOURS, MOST_MELTS = 60, 100.0, 180
"""Uses of a base-metal thermocouple between 650 and 980 °C: 180 at most (AMS 2750, revision G, from a trade page); that
it is time for a new one at a third of it, or at 100 h over 650 °C, is our choice."""
STEADY_SD_K = 4.0
"""Minutes of one melting that scatter by more are not of the alloy that was entered (our choice, by simulation)."""

MIXED_SD_K = 2.5
"""Of scrap that may be anything, only meltings that scatter by less look like the alloy they were taken for (our
choice, by simulation: the others are off by up to 40 K, these by 3 K or so)."""


class Melting(NamedTuple):
    """One melt, as the sensor saw the metal melt. offset_k: reading less what the model expects there."""

    firing_id: int
    utc_ms: int
    offset_k: float
    sd_k: float
    known: bool  # the alloy's solidus and liquidus are its own

    @property
    def counts(self) -> bool:
        """It looks like the metal that was entered."""
        return self.known and self.sd_k <= STEADY_SD_K


class Truth(NamedTuple):
    """What the melts say. bias_k: of the last two, against the first ones; None: too few."""

    bias_k: float | None
    within_k: float  # what would be found
    found: bool
    drift_k_per_10: float | None  # trend, K in ten melts; None: too few
    repeats_k: float | None  # standard deviation of one melt, as measured here
    words: str


def truth(meltings: Sequence[Melting], *, mixed: bool = False) -> Truth:
    """Judge a sensor by the melts since it was fitted, the oldest first.

    mixed: take those of unknown or mixed scrap too, as far as they look like one alloy: what is found then is what
    stands out of how well those repeat.
    """
    kept = [each for each in meltings if (each.sd_k <= MIXED_SD_K if mixed else each.counts)]
    if len(kept) < REFERENCE + 1:
        left = REFERENCE + 1 - len(kept)
        more = "1 more melt of known metal says" if left == 1 else f"{left} more melts of known metal say"
        words = f"Not known yet: {more} whether it has moved."
        return Truth(None, LEAST_FOUND_K, False, None, None, words)
    last = kept[max(REFERENCE, len(kept) - 2) :]
    before = [each.offset_k for each in kept[: len(kept) - len(last)]]
    sd_k = _repeats_k(before, mixed=mixed)
    bias_k = mean(each.offset_k for each in last) - mean(before[:REFERENCE])
    within_k = max(LEAST_FOUND_K, FOUND_SD * sd_k * sqrt(1.0 / len(last) + 1.0 / REFERENCE))
    found = len(last) >= 2 and abs(bias_k) > within_k
    return Truth(
        round(bias_k, 1), round(within_k, 1), found, _drift(kept), round(sd_k, 1), _words(bias_k, within_k, found)
    )


def beside(now: Sequence[Melting], before: Sequence[Melting]) -> str:
    """How a sensor reads beside the one before it, both held against the same model; empty: too few melts."""
    new = [each.offset_k for each in now if each.counts]
    old = [each.offset_k for each in before if each.counts]
    if not new or not old:
        return ""
    off_k = mean(new[:REFERENCE]) - mean(old[-REFERENCE:])
    if abs(off_k) < 1.0:
        return "It reads as the sensor before it did, at the flat part."
    way = "higher" if off_k > 0.0 else "lower"
    return f"It reads {abs(off_k):.0f} K {way} than the sensor before it, at the flat part."


def _repeats_k(offsets_k: Sequence[float], *, mixed: bool) -> float:
    measured_k = stdev(offsets_k) if len(offsets_k) > 2 else 0.0
    if mixed:  # a few melts of a bin say little of how the next one repeats
        return max(1.5 * KNOWN_SD_K, measured_k * (1.0 + 2.0 / len(offsets_k)))
    few = min(1.0, (len(offsets_k) - 1) / 10.0)  # three melts hardly say how well they repeat
    return max(KNOWN_SD_K * 0.75, sqrt(few * measured_k**2 + (1.0 - few) * KNOWN_SD_K**2))


def _drift(kept: Sequence[Melting]) -> float | None:
    """Slope of a straight line through all melts, K in ten melts."""
    if len(kept) < 6:
        return None
    at = range(len(kept))
    middle, level = mean(at), mean(each.offset_k for each in kept)
    over = sum((n - middle) * (each.offset_k - level) for n, each in zip(at, kept, strict=True))
    return round(10.0 * over / sum((n - middle) ** 2 for n in at), 1)


def _words(bias_k: float, within_k: float, found: bool) -> str:
    reads = f"{abs(bias_k):.0f} K {'higher' if bias_k > 0.0 else 'lower'}"
    if found:
        return (
            f"It reads {reads} than in its first melts, at the flat part of known metal. Compare it with a second"
            " probe; it is changed, or corrected by a dated line of the furnace file."
        )
    if abs(bias_k) < 1.0:
        return f"It reads as in its first melts, at the flat part of known metal; {within_k:.0f} K would be told."
    return f"It reads {reads} than in its first melts, at the flat part: less than the {within_k:.0f} K that are told."


class Use(NamedTuple):
    """What a thermocouple has been through since it was fitted."""

    melts: int
    hours_over_660: float
    peak_c: float | None
    due: bool
    over: bool  # beyond what is published for its kind
    words: str


def use(melts: int, hours_over_660: float, peak_c: float | None) -> Use:
    """Count a sensor's use against its limits."""
    over = melts >= MOST_MELTS
    due = over or melts >= ADVISE_MELTS or hours_over_660 >= ADVISE_HOURS
    left = f"a new one at {ADVISE_MELTS} melts or {ADVISE_HOURS:.0f} h, at {MOST_MELTS} melts at the latest"
    state = "Change it now: " if over else "Time for a new one: " if due else ""
    count = f"{melts} melt{'s' * (melts != 1)}, {hours_over_660:.1f} h over 660 °C"
    return Use(melts, hours_over_660, peak_c, due, over, f"{state}{count}; {left}.")


def boiling_c(altitude_m: float | None = None, pressure_hpa: float | None = None) -> float:
    """Boiling point of water, °C, from pressure, or from altitude in a standard atmosphere.

    Source: International Standard Atmosphere (ISO 2533) for the pressure; Antoine's equation for water up to 100 °C,
    log10(p / mmHg) = 8.07131 - 1730.63 / (t + 233.426) (both from memory; 100.0 °C at 1013.25 hPa).

    Raises:
        InputRefused: neither or both are given, or one is out of range.
    """
    if (altitude_m is None) == (pressure_hpa is None):
        raise refusal("boiling check", "altitude or pressure", altitude_m, "one of the two: where the water boils")
    if altitude_m is not None:
        if not -430.0 <= altitude_m <= 6000.0:
            raise refusal("boiling check", "altitude", altitude_m, "-430 to 6000 m")
        pressure_hpa = 1013.25 * (1.0 - 2.25577e-5 * altitude_m) ** 5.25588
    assert pressure_hpa is not None
    if not 450.0 <= pressure_hpa <= 1100.0:
        raise refusal("boiling check", "pressure", pressure_hpa, "450 to 1100 hPa, as measured where it boils")
    return 1730.63 / (8.07131 - log10(pressure_hpa * 0.750062)) - 233.426


FIXED_WITHIN_K = 4.5
"""Ice and boiling water: class 2 wire 2.5 K, converter and cold junction 2 K each; root sum (our choice)."""


def fixed_point(read_c: float, true_c: float) -> tuple[bool, str]:
    """Judge a reading in ice water or boiling water."""
    if not -20.0 <= read_c <= 140.0:
        raise refusal("sensor check", "reading", read_c, "-20 to 140 °C in ice or boiling water")
    off_k = read_c - true_c
    if abs(off_k) <= FIXED_WITHIN_K:
        return True, f"{off_k:+.1f} K at {true_c:.1f} °C: within {FIXED_WITHIN_K:g} K. It says little of 700 °C."
    return False, f"{off_k:+.1f} K at {true_c:.1f} °C: more than {FIXED_WITHIN_K:g} K. Look at leads, plug and board."
