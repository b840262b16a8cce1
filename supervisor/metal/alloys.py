"""The table of alloys: what is in each, where it melts, at what temperature it is poured, and who says so."""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import NamedTuple

from supervisor.metal.charge import Charge
from supervisor.refusal import InputRefused, refusal

UNKNOWN = "unknown"
"""What a charge is called when nobody can say what is in it. It has no solidus, so heat stops early for a press."""

ELEMENTS = ("Si", "Fe", "Cu", "Mn", "Mg", "Cr", "Ni", "Zn", "Ti", "Sn", "Pb", "Bi")
"""What the table gives limits for, beside aluminium."""


class Limits(NamedTuple):
    """What may be in an alloy, wt%. None: no limit on that side."""

    least: float | None
    most: float | None


@dataclass(frozen=True, slots=True)
class Alloy:
    """One row of `alloys.csv`. The sources say of themselves what was written from memory."""

    name: str  # registration number: '6082', 'A356.0'
    kind: str  # wrought or cast
    en_equivalent: str
    limits: Mapping[str, Limits]  # of the elements that have any
    others_each_max: float | None
    others_total_max: float | None
    composition_source: str
    density_g_cm3: float
    density_source: str
    solidus_c: float
    liquidus_c: float
    melting_source: str
    pour_low_c: float
    pour_high_c: float
    pour_source: str
    note: str


@cache
def table() -> dict[str, Alloy]:
    """Every alloy by its name, wrought ones first. Read once, when first asked for."""
    with Path(__file__).with_name("alloys.csv").open(encoding="utf-8", newline="") as file:
        alloys = [_alloy(row) for row in csv.DictReader(file)]
    return {alloy.name: alloy for alloy in alloys}


def _alloy(row: dict[str, str]) -> Alloy:
    limits = {
        element: Limits(_number(row[f"{element}_min"]), _number(row[f"{element}_max"]))
        for element in ELEMENTS
        if row[f"{element}_min"] or row[f"{element}_max"]
    }
    return Alloy(
        row["alloy"],
        row["kind"],
        row["en_equivalent"],
        limits,
        _number(row["others_each_max"]),
        _number(row["others_total_max"]),
        row["composition_source"],
        float(row["density_g_cm3"]),
        row["density_source"],
        float(row["solidus_c"]),
        float(row["liquidus_c"]),
        row["melting_source"],
        float(row["pour_low_c"]),
        float(row["pour_high_c"]),
        row["pour_source"],
        row["note"],
    )


def _number(cell: str) -> float | None:
    return float(cell) if cell else None


def names() -> str:
    """What an alloy may be called, for a refusal."""
    return f"{', '.join(table())}, or {UNKNOWN}"


def alloy(name: str) -> Alloy:
    """Look an alloy up: '6082', 'EN AW-6082' and 'en aw 6082' are the same row.

    Raises:
        InputRefused: no such row; 'unknown' has none either.
    """
    plain = name.upper().replace("-", " ").removeprefix("EN ").removeprefix("AW ").strip()
    if plain not in table():
        raise InputRefused(f"alloy is {name!r}; allowed: {', '.join(table())}")
    return table()[plain]


def charge(mass_kg: float, alloy_name: str, form: str) -> Charge:
    """Metal for the pot, with what the table knows of it. Unknown metal has neither solidus nor liquidus.

    Raises:
        InputRefused: an alloy that is not in the table, or a mass that is not above 0 kg.
    """
    if not 0.0 < mass_kg < float("inf"):
        raise refusal("charge", "mass_kg", mass_kg, "above 0 kg")
    if alloy_name.strip().lower() == UNKNOWN:
        return Charge(mass_kg, UNKNOWN, form, None, None)
    found = alloy(alloy_name)
    return Charge(mass_kg, found.name, form, found.solidus_c, found.liquidus_c)
