"""Refractories: how they conduct and store, by their temperature, and who says so."""

from collections.abc import Mapping
from functools import cache
from itertools import pairwise
from math import sqrt
from typing import NamedTuple

from supervisor.refusal import InputRefused
from supervisor.sizing.tables import between, rows

WORDS: Mapping[str, tuple[str, str]] = {
    "23": ("insulating_firebrick_1260C_class", "insulating firebrick, 1260 °C class (group 23)"),
    "26": ("insulating_firebrick_1400C_class", "insulating firebrick, 1400 °C class (group 26)"),
    "28": ("insulating_firebrick_1540C_class", "insulating firebrick, 1540 °C class (group 28)"),
    "1760": ("insulating_firebrick_1760C_class", "insulating firebrick, 1760 °C class"),
    "23-sheet": ("insulating_firebrick_gr23_data_sheet", "insulating firebrick, group 23, another maker's sheet"),
    "dense": ("dense_fireclay_brick", "dense fireclay brick"),
    "high-duty": ("dense_high_duty_fireclay_brick", "dense high-duty fireclay brick"),
    "mullite": ("dense_mullite_brick", "dense mullite brick"),
    "silica": ("fused_silica_brick", "fused silica brick"),
    "sic-40": ("silicon_carbide_brick_40pct", "silicon carbide brick, 40 %"),
    "sic-70": ("silicon_carbide_brick_70pct", "silicon carbide brick, 70 %"),
    "board": ("calcium_silicate_board", "calcium silicate board"),
    "blanket": ("ceramic_fibre_blanket_128kgm3", "ceramic fibre blanket, 128 kg/m³"),
}
"""What each is called here: its rows in refractories.csv, and its words."""

LEAST_W_M_K = 0.02
"""Still air: no refractory conducts less."""

COLD_C, HOT_C = -50.0, 1500.0
"""The tables are drawn on in a straight line as far as this."""


class Material(NamedTuple):
    """What a layer is made of. Points are (°C, value), lowest first; density 0: nobody said how much heat it stores."""

    name: str
    words: str
    conductivity_w_m_k: tuple[tuple[float, float], ...]
    specific_heat_j_kg_k: tuple[tuple[float, float], ...]
    density_kg_m3: float
    limit_c: float | None  # of service, where the table has one
    sources: tuple[str, ...]

    def conducts(self, at_c: float) -> float:
        """Conductivity, W/m/K."""
        return between(self.conductivity_w_m_k, at_c)

    def integral_w_m(self, at_c: float) -> float:
        """Conductivity integrated over temperature from the table's start, W/m: exact, as the table is straight lines.

        The difference of two is what a layer conducts for each metre of its shape (Kirchhoff's transformation). Below
        the table's start its first conductivity goes on.
        """
        whole, points = 0.0, self.conductivity_w_m_k
        if at_c < points[0][0]:
            return (at_c - points[0][0]) * points[0][1]
        for (low_c, low), (high_c, _) in zip(points, [*points[1:], (float("inf"), 0.0)], strict=True):
            if at_c <= low_c:
                break
            end_c = min(at_c, high_c)
            whole += (low + self.conducts(end_c)) / 2.0 * (end_c - low_c)
        return whole

    def where_c(self, integral_w_m: float) -> float:
        """The temperature at which that integral has a value."""
        points, rest = self.conductivity_w_m_k, integral_w_m
        if rest <= 0.0 or len(points) == 1:
            return max(-273.15, points[0][0] + rest / points[0][1])
        for (low_c, low), (high_c, high) in pairwise(points):
            holds = (low + high) / 2.0 * (high_c - low_c)
            if rest <= holds:
                rises = (high - low) / (high_c - low_c)
                return low_c + 2.0 * rest / (low + sqrt(low**2 + 2.0 * rises * rest))
            rest -= holds
        return points[-1][0] + rest / points[-1][1]


@cache
def material(name: str) -> Material:
    """A material of the table.

    Raises:
        InputRefused: no such one.
    """
    if name not in WORDS:
        raise InputRefused(f"material is {name[:40]!r}; allowed: {', '.join(WORDS)}, or a conductivity, as 0.16 W/m/K")
    row_name, words = WORDS[name]
    mine = [row for row in rows("refractories") if row["material"] == row_name]
    one = {row["property"]: float(row["value"]) for row in mine if not row["T_C"]}
    warm = _points(mine, "specific_heat") or ((20.0, one["specific_heat"]),)
    said = dict.fromkeys(f"{row['source']} ({row['evidence']})" for row in mine)
    return Material(
        name, words, _drawn_on(_points(mine, "thermal_conductivity")), _drawn_on(warm), one["density"],
        one.get("service_limit"), tuple(said),
    )  # fmt: skip


def of_conductivity(w_m_k: float, density_kg_m3: float = 0.0, specific_heat_j_kg_k: float = 0.0) -> Material:
    """A material of which only what was typed is known."""
    flat = ((20.0, w_m_k),)
    words = f"k {w_m_k:.4g} W/m/K"
    return Material(words, words, flat, ((20.0, specific_heat_j_kg_k),), density_kg_m3, None, ("as typed",))


def _points(mine: list[dict[str, str]], name: str) -> tuple[tuple[float, float], ...]:
    return tuple((float(row["T_C"]), float(row["value"])) for row in mine if row["property"] == name and row["T_C"])


def _drawn_on(points: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """The same lines, drawn on below the first row and above the last one as the nearest two rows go."""
    if len(points) < 2:
        return points
    (x0, y0), (x1, y1) = points[:2]
    (x2, y2), (x3, y3) = points[-2:]
    cold = max(y0 + (y1 - y0) / (x1 - x0) * (COLD_C - x0), LEAST_W_M_K)
    hot = max(y3 + (y3 - y2) / (x3 - x2) * (HOT_C - x3), LEAST_W_M_K)
    return ((COLD_C, cold), *points, (HOT_C, hot))
