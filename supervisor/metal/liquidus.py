"""Where a mix melts and at what temperature it is poured: the liquidus by a rule, the solidus by its lowest lot.

The rule is a straight-line fit near pure aluminium, good to about 5 K where it holds: held against the printed liquidus
of the wrought and cast alloys of the table at the middle of their limits it is off by 2.8 K (root mean square), at
worst by 6.6 K. It says nothing about the solidus, of which the lowest of all lots is taken.
"""

from collections.abc import Sequence
from typing import NamedTuple

from supervisor.metal.composition import Composition

PURE_C = 660.3
"""Pure aluminium: no alloy of the table has a higher liquidus."""

RULE_GIVE_K = 5.0

PER_PCT_K = {"Si": -5.79, "Cu": -2.83, "Mg": -4.84, "Zn": -1.71, "Fe": -2.11, "Mn": -2.22}
SILICON_SQUARED_K = -0.066
HOLDS_BELOW_PCT = {"Si": 12.0, "Cu": 8.0, "Mg": 8.0, "Zn": 8.0, "Fe": 1.5}
"""Beyond these another crystal than aluminium's freezes first, and the rule falls where the liquidus climbs."""

LEAST_ALUMINIUM_PCT = 80.0
"""Below this it is no alloy of the aluminium corner at all (our choice)."""

HIGHER = "No alloy of the table is higher; much silicon, manganese or another metal is: see that all is liquid."
"""Of metal whose liquidus nobody knows."""

SUPERHEAT_LOW_K, SUPERHEAT_HIGH_K, POUR_HIGHEST_C = 60.0, 110.0, 760.0
"""Poured from so far to so far above the liquidus, never hotter than that (our proposal for ingots)."""


class Liquidus(NamedTuple):
    """c None: the rule does not hold, and why says so."""

    c: float | None
    give_k: float
    why: str


class Pour(NamedTuple):
    """From which to which metal temperature it is poured, °C."""

    low_c: float
    high_c: float
    why: str  # where the liquidus is not known: what was taken instead


def liquidus(found: Composition) -> Liquidus:
    """T = 660.3 - 5.79 Si - 0.066 Si² - 2.83 Cu - 4.84 Mg - 1.71 Zn - 2.11 Fe - 2.22 Mn, °C and wt%."""
    if not found.known:
        return Liquidus(None, 0.0, "Part of the charge is unknown metal, so no liquidus can be reckoned.")
    pct = found.likely
    aluminium = pct.get("Al", 0.0)
    if aluminium < LEAST_ALUMINIUM_PCT:
        return Liquidus(None, 0.0, f"Aluminium is {aluminium:.1f} %; the liquidus rule holds from 80 % up.")
    for element, below in HOLDS_BELOW_PCT.items():
        if not pct.get(element, 0.0) < below:
            at = f"{element} is {pct[element]:.2f} %; the liquidus rule holds below {below:g} %"
            more = ": above it the liquidus climbs while the rule falls" if element == "Si" else ""
            return Liquidus(None, 0.0, f"{at}{more}.")
    c = PURE_C + SILICON_SQUARED_K * pct.get("Si", 0.0) ** 2
    c += sum(slope * pct.get(element, 0.0) for element, slope in PER_PCT_K.items())
    return Liquidus(c, RULE_GIVE_K, "")


def pour(liquidus_c: float | None) -> Pour:
    """At which temperature of the metal it is poured."""
    why = "" if liquidus_c is not None else f"Reckoned from pure aluminium, {PURE_C:g} °C. {HIGHER}"
    at_c = PURE_C if liquidus_c is None else liquidus_c
    return Pour(at_c + SUPERHEAT_LOW_K, min(POUR_HIGHEST_C, at_c + SUPERHEAT_HIGH_K), why)


def lowest_solidus_c(solidi_c: Sequence[float | None]) -> float | None:
    """The lowest solidus of all parts, °C; None when one is not known: then heat stops at 450 °C for a press."""
    known = [solidus_c for solidus_c in solidi_c if solidus_c is not None]
    return min(known) if known and len(known) == len(solidi_c) else None
