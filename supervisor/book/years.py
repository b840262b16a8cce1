"""Every melt in one line, over months and years: what went in and came out, how long, how much energy; for trends.

Two files are read and no sample: what a firing came to was written down when it ended.
"""

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from statistics import median
from typing import Any, NamedTuple

from supervisor.book.writing import Book
from supervisor.logbook.reading import Firing
from supervisor.metal.forms import FORMS

SURE = 3.7
"""Two thirds' medians differ by chance by up to so many times the median step from melt to melt, over the root of their
number, nineteen times in twenty: 2 x 1.25 x 1.41 standard deviations, which is 1.05 median steps (normal scatter)."""

LEAST_FOR_A_TREND = 6
"""So few points show nothing but scatter (our choice)."""


class Line(NamedTuple):
    """One melt. None: nobody wrote it down."""

    heat_number: str
    firing_id: int | None
    utc_ms: int
    backend: str
    form: str  # of most of it; 'ingot' where it was cast before
    in_kg: float
    ingots_kg: float
    dross_kg: float | None
    kept_kg: float  # stayed in the pot, or went back
    minutes: float | None
    kwh: float | None

    @property
    def share(self) -> float | None:
        """Metal out over metal in; None: it was never poured."""
        return self.ingots_kg / self.in_kg if self.ingots_kg and self.in_kg > self.kept_kg else None

    @property
    def kwh_per_kg(self) -> float | None:
        """Energy over what went in; None where it was never poured."""
        return self.kwh / self.in_kg if self.kwh and self.ingots_kg else None


def lines(book: Book, firings: Sequence[Firing]) -> list[Line]:
    """Every melt that metal went into, the oldest first. firings: of the furnace's log."""
    fired = {firing.heat_number: firing for firing in firings if firing.heat_number}
    came = _sums(book, "to", "")
    out = {how: _sums(book, "from", f"AND how = '{how}'") for how in ("ingot", "dross")}
    kept = _sums(book, "from", "AND to_kind IN ('melt', 'lot') AND how <> 'dross'")
    form = _forms(book)
    found = []
    for row in book.raw("SELECT id, heat_number, backend, utc_ms FROM melt ORDER BY id"):
        if row["id"] in came:
            firing = fired.get(row["heat_number"])
            found.append(
                Line(
                    row["heat_number"],
                    None if firing is None else firing.id,
                    row["utc_ms"] if firing is None else firing.started_utc_ms,
                    row["backend"],
                    form.get(row["id"], ""),
                    came[row["id"]],
                    out["ingot"].get(row["id"], 0.0),
                    out["dross"].get(row["id"]),
                    kept.get(row["id"], 0.0),
                    None if firing is None or not firing.lasted_s else firing.lasted_s / 60.0,
                    None if firing is None or not firing.energy_wh else firing.energy_wh / 1000.0,
                )
            )
    return sorted(found, key=lambda line: line.utc_ms)


def _sums(book: Book, end: str, more: str) -> dict[int, float]:
    rows = book.raw(f"SELECT {end}_id, sum(kg) FROM moves WHERE {end}_kind = 'melt' {more} GROUP BY {end}_id")
    return {row[0]: row[1] for row in rows}


def _forms(book: Book) -> dict[int, str]:
    rows = book.raw(
        "SELECT m.to_id, d.form, sum(m.kg) AS kg FROM moves m LEFT JOIN lot_description d ON m.from_kind = 'lot'"
        " AND d.id = (SELECT max(n.id) FROM lot_description n WHERE n.lot_id = m.from_id)"
        " WHERE m.to_kind = 'melt' GROUP BY 1, 2 ORDER BY kg"
    )
    return {row[0]: row[1] or "ingot" for row in rows}


class Point(NamedTuple):
    """One point of a trend; low and high: its band, where there is one."""

    utc_ms: int
    value: float
    name: str
    low: float | None = None
    high: float | None = None


class Series(NamedTuple):
    """Points of one kind, the oldest first."""

    name: str
    points: Sequence[Point]


class Trend(NamedTuple):
    """One figure over time, and the sentence that it comes to."""

    id: str
    title: str
    unit: str
    series: Sequence[Series]
    sentence: str


def trends(found: Sequence[Line]) -> list[Trend]:
    """Yield by form, energy per kg, duration: what the book and the closing records have."""
    by_form: dict[str, list[Point]] = {}
    for line in found:
        if line.share is not None:
            by_form.setdefault(line.form, []).append(Point(line.utc_ms, 100.0 * line.share, line.heat_number))
    shown = sorted(by_form.items(), key=lambda item: -len(item[1]))
    series = [Series(FORMS[form].words if form in FORMS else form, points) for form, points in shown]
    return [
        Trend("yield", "Yield by form", "%", series, _of_the_forms(series)),
        _one(found, "energy", "Energy per kg charged", "kWh/kg", lambda line: line.kwh_per_kg, "{:.2f}"),
        _one(
            found, "duration", "Duration of a melt", "min", lambda line: line.minutes if line.share else None, "{:.0f}"
        ),
    ]


def _one(
    found: Sequence[Line], own_id: str, title: str, unit: str, of: Callable[[Line], float | None], shape: str
) -> Trend:
    points = [Point(line.utc_ms, value, line.heat_number) for line in found if (value := of(line)) is not None]
    return Trend(own_id, title, unit, [Series("", points)], moved(points, title, unit, shape))


def _of_the_forms(series: Sequence[Series]) -> str:
    said = [
        f"{each.name} {median(point.value for point in each.points):.1f} % ({_melts(len(each.points))})"
        for each in series
    ]
    return f"Usual yield: {'; '.join(said)}." if said else "Nothing was poured and weighed yet."


def _melts(count: int) -> str:
    return f"{count} melt{'' if count == 1 else 's'}"


def moved(points: Sequence[Point], title: str, unit: str, shape: str = "{:.1f}") -> str:
    """Whether a figure moved, in a sentence: the last third against the first, as far as the scatter lets one say."""
    if not points:
        return f"{title}: nothing is known yet."
    middle = median(point.value for point in points)
    if len(points) < LEAST_FOR_A_TREND:
        return f"{title}: about {shape.format(middle)} {unit}; too few melts to say whether it moves."
    third = max(2, len(points) // 3)
    first, last = (median(point.value for point in part) for part in (points[:third], points[-third:]))
    scatter = median(abs(b.value - a.value) for a, b in pairwise(points))
    if abs(last - first) <= SURE * scatter / third**0.5:
        return f"{title}: about {shape.format(middle)} {unit}, no more change than its scatter."
    way = "more" if last > first else "less"
    by = shape.format(abs(last - first))
    return f"{title}: {shape.format(last)} {unit} of late, {by} {way} than at first ({shape.format(first)})."


def since(found: Sequence[Line], utc_ms: int) -> list[Line]:
    """Those that began at a moment or later."""
    return [line for line in found if line.utc_ms >= utc_ms]


def as_object(found: Sequence[Trend]) -> list[Mapping[str, Any]]:
    """Plain values for JSON."""
    return [
        {
            "id": each.id,
            "title": each.title,
            "unit": each.unit,
            "sentence": each.sentence,
            "series": [{"name": one.name, "points": [point._asdict() for point in one.points]} for one in each.series],
        }
        for each in found
    ]
