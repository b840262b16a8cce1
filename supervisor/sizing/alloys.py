"""Heating alloys: what they resist cold and hot, what they stand, and who says so; and why plain steel is none."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from supervisor.refusal import InputRefused
from supervisor.sizing.gauges import Gauge
from supervisor.sizing.tables import between, rows

MOST_HOT_OVER_COLD = 1.3
"""A wire whose resistance grows by more is no element (our proposal): what draws 10 A hot then asks over 13 A cold."""

WORDS: Mapping[str, tuple[str, str]] = {
    "fecral-5.8": ("FeCrAl_22Cr_5.8Al", "FeCrAl 22Cr-5.8Al"),
    "fecral-5.3": ("FeCrAl_22Cr_5.3Al", "FeCrAl 22Cr-5.3Al"),
    "fecral-4.8": ("FeCrAl_22Cr_4.8Al", "FeCrAl 22Cr-4.8Al"),
    "nicr-80": ("NiCr_80_20", "NiCr 80/20"),
    "nicr-60": ("NiCr_60_15", "NiCr 60/15"),
}
"""What each is called here: its rows in wires.csv, and the trade's name."""

FACTORS = ("0Cr21Al6", "0Cr25Al5", "0Cr21Al4")
"""Tables of factors of other makers: to take in place of an alloy's own, when that is the wire that was bought."""

_STEEL = {"steel", "iron", "mild steel", "plain steel", "plain iron", "binding wire", "fence wire"}


@dataclass(frozen=True, slots=True)
class Alloy:
    """One alloy. hot_over_cold: (°C, factor) rows, lowest first."""

    name: str  # 'fecral-5.8'
    words: str
    resistivity_ohm_mm2_m: float  # at 20 °C
    density_g_cm3: float
    emissivity: float  # oxidised
    limit_c: float  # of the element, in air, thick wire
    hot_over_cold: tuple[tuple[float, float], ...]
    sources: tuple[str, ...]

    @property
    def is_nickel(self) -> bool:
        """NiCr carries some two thirds of the surface load, and is less sure of its factor."""
        return self.name.startswith("nicr")

    @property
    def tolerance(self) -> float:
        """How far power may be off, as makers disagree: share."""
        return 0.05 if self.is_nickel else 0.03

    def factor(self, element_c: float) -> float:
        """Resistance over that at 20 °C: straight lines between the table's rows.

        Raises:
            InputRefused: hotter than the table goes.
        """
        top_c = self.hot_over_cold[-1][0]
        if not element_c <= top_c:
            raise InputRefused(
                f"element is {element_c:.0f} °C; allowed: up to {top_c:g} °C, where {self.words}'s table ends"
            )
        return between(self.hot_over_cold, element_c)


@cache
def table() -> dict[str, Alloy]:
    """Every alloy that elements are made of, by its name here."""
    return {name: _alloy(name) for name in WORDS}


def alloy(typed: str) -> Alloy:
    """An alloy by its name here, its trade name, or its row's name.

    Raises:
        InputRefused: steel, or no such alloy.
    """
    plain = " ".join(typed.lower().replace("_", " ").split())
    if plain in _STEEL:
        raise InputRefused(steel(typed.strip()))
    for name, (row, words) in WORDS.items():
        if plain in (name, words.lower(), row.lower().replace("_", " ")):
            return table()[name]
    raise InputRefused(f"alloy is {typed.strip()[:40]!r}; allowed: {', '.join(WORDS)}; plain steel is no element")


def with_factors(of: Alloy, name: str) -> Alloy:
    """The alloy with another maker's factors.

    Raises:
        InputRefused: no such table.
    """
    if name not in FACTORS:
        raise InputRefused(f"table is {name[:40]!r}; allowed: {', '.join(FACTORS)}")
    found = _rows(name)
    source = next(row["source"] for row in rows("wires") if row["alloy"] == name)
    return Alloy(
        of.name, f"{of.words}, factors of {name}", of.resistivity_ohm_mm2_m, of.density_g_cm3, of.emissivity,
        of.limit_c, found, (*of.sources, source),
    )  # fmt: skip


def checked_factor(factor: float, words: str) -> float:
    """A hot over cold resistance that an element may have.

    Raises:
        InputRefused: above 1.3; the sentence says what would happen.
    """
    if not 0.9 <= factor <= MOST_HOT_OVER_COLD:
        raise InputRefused(
            f"{words} is {factor:.4g}; allowed: 0.9 to {MOST_HOT_OVER_COLD:g}. Such a wire draws {factor:.2g} times its"
            " working current when it is cold, and the circuit cannot be made for both: it is no element."
        )
    return factor


def steel(typed: str) -> str:
    """Why plain steel is refused: one sentence from iron's own table."""
    at_c, ratio = _rows("plain_iron")[-1]
    return (
        f"alloy is {typed!r}; allowed: {', '.join(WORDS)}. At {at_c:g} °C iron resists {ratio:.1f} times as much as"
        f" cold: what draws 13 A hot asks {13 * ratio:.0f} A cold; it also scales away above some 550 °C (from memory)."
    )


def limit_c(of: Alloy, wire: Gauge) -> float | None:
    """The highest element temperature for a wire of this size, °C; None: the tables give none.

    Between the ends of a range of sizes a straight line; between two ranges the thinner one's end. From memory.
    """
    best = None
    for row in rows("wire_limits"):
        if row["alloy"] == WORDS[of.name][0] and float(row["from_mm"]) <= wire.mm:
            thick, thin = float(row["to_mm"]), float(row["from_mm"])
            best = between([(thin, float(row["low_c"])), (thick, float(row["high_c"]))], wire.mm)
    return best


def _alloy(name: str) -> Alloy:
    row_name, words = WORDS[name]
    mine = [row for row in rows("wires") if row["alloy"] == row_name]
    one = {row["property"]: float(row["value"]) for row in mine}
    return Alloy(
        name, words, one["resistivity"], one["density"], one["emissivity_fully_oxidised"],
        one["max_continuous_element_temperature_air"], _rows(row_name), _sources(mine),
    )  # fmt: skip


def _rows(row_name: str) -> tuple[tuple[float, float], ...]:
    return tuple(
        (float(row["T_C"]), float(row["value"]))
        for row in rows("wires")
        if row["alloy"] == row_name and row["property"] == "Ct"
    )


def _sources(mine: list[dict[str, str]]) -> tuple[str, ...]:
    used = ("resistivity", "density", "emissivity_fully_oxidised", "max_continuous_element_temperature_air", "Ct")
    said = (
        f"{row['source']} ({row['evidence']})"
        for row in mine
        if row["property"] in used and row["source"] != "definition"
    )
    return tuple(dict.fromkeys(said))
