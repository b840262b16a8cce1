"""What pages that look back show: melts side by side, figures over years, why an ingot is poor, what a melt cost."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from supervisor.book import ingots, tree
from supervisor.book.ingots import Ingot
from supervisor.book.phases import NAMES, Course, courses
from supervisor.book.poor import Sensor, evidence_of
from supervisor.book.writing import Book
from supervisor.book.years import Line, Point, Series, Trend, lines, moved, since, trends
from supervisor.care.figures import Figures
from supervisor.care.keeping import all_figures
from supervisor.care.sensor import STEADY_SD_K
from supervisor.logbook.reading import Log, open_log
from supervisor.metal.causes import Cause, rank, verdict
from supervisor.metal.closing import Balance
from supervisor.metal.cost import Cost, cost
from supervisor.metal.evidence import missing
from supervisor.refusal import InputRefused
from web.words import duration

MOST_COMPARED = 5
DAY_MS = 86_400_000


class Compared(NamedTuple):
    """Melts side by side: a row for each figure, a column for each melt."""

    courses: Sequence[Course]
    rows: Sequence[tuple[str, Sequence[str]]]
    bars: str  # SVG, one bar a melt, its phases as stretches
    sentence: str


def compared(data: Path, book: Book, ids: Sequence[int]) -> Compared:
    """Read them, phase by phase.

    Raises:
        InputRefused: one of them is not in the log.
    """
    with open_log(data) as log:
        firings = [log.firing(each) for each in ids[:MOST_COMPARED]]
        found = courses(log, firings)
        by_heat = {line.heat_number: line for line in lines(book, firings)}
    known = [by_heat.get(each.name) for each in found]
    rows = [(name, [_phase(each, name) for each in found]) for name in NAMES if any(each.phase(name) for each in found)]
    rows += [
        ("all of it", [f"{each.minutes:.0f} min, {each.kwh:.2f} kWh" for each in found]),
        ("charge", [_or_dash(each.charge_kg, "{:.2f} kg") for each in found]),
        ("per kg", [_or_dash(each.kwh_per_kg, "{:.2f} kWh") for each in found]),
        ("liquid for", [_or_dash(each.liquid_min, "{:.0f} min") for each in found]),
        ("hottest metal", [_or_dash(each.metal_most_c, "{:.0f} °C") for each in found]),
        ("at the pour", [_poured(each) for each in found]),
        ("metal lost", [_loss(line) for line in known]),
        ("dross", [_or_dash(None if line is None else line.dross_kg, "{:.2f} kg") for line in known]),
        ("parted by", [each.by or "–" for each in found]),
    ]  # fmt: skip
    return Compared(found, rows, bars(found), _difference(found))


def _phase(of: Course, name: str) -> str:
    phase = of.phase(name)
    if phase is None:
        return "–"
    rise = "" if phase.rise_k is None or abs(phase.rise_k) < 0.5 else f", {phase.rise_k:+.0f} K"
    return f"{phase.minutes:.0f} min, {phase.kwh:.2f} kWh{rise}".replace("-", "−")


def _or_dash(value: float | None, shape: str) -> str:
    return "–" if value is None else shape.format(value)


def _poured(of: Course) -> str:
    return "–" if of.poured_c is None else f"{of.poured_c:.0f} °C, by {of.poured_by}"


def _loss(line: Line | None) -> str:
    return "–" if line is None or line.share is None else f"{100.0 * (1.0 - line.share):.1f} %"


def _difference(found: Sequence[Course]) -> str:
    """What parts the longest from the shortest, in a sentence."""
    whole = [each for each in found if each.phase("hold") is not None]
    if len(whole) < 2:
        return ""
    long, short = max(whole, key=lambda each: each.minutes), min(whole, key=lambda each: each.minutes)
    if long.minutes - short.minutes < 2.0:
        return "They took the same time, to two minutes."
    more = {name: _minutes(long, name) - _minutes(short, name) for name in NAMES}
    name = max(more, key=lambda each: more[each])
    by = duration(60.0 * (long.minutes - short.minutes))
    return f"{long.name} took {by} longer than {short.name}; {more[name]:.0f} min of it in the phase {name}."


def _minutes(of: Course, name: str) -> float:
    phase = of.phase(name)
    return 0.0 if phase is None else phase.minutes


BAR_HEIGHT, BAR_GAP, BAR_LEFT, BAR_WIDTH = 22.0, 12.0, 58.0, 328.0


def bars(found: Sequence[Course]) -> str:
    """One bar a melt on one scale of minutes: its phases line up by what they are, not by the clock."""
    longest = max((each.minutes for each in found), default=0.0) or 1.0
    height = len(found) * (BAR_HEIGHT + BAR_GAP) + 20.0
    said = "; ".join(
        f"{each.name}: " + ", ".join(f"{p.name} {p.minutes:.0f} min" for p in each.phases) for each in found
    )
    parts = [f'<svg class="chart phases" viewBox="0 0 {BAR_WIDTH:g} {height:g}" role="img" aria-label="{said}">']
    for number, each in enumerate(found):
        y = number * (BAR_HEIGHT + BAR_GAP) + 4.0
        parts.append(f'<text x="0" y="{y + 16:g}">{each.name}</text>')
        for phase in each.phases:
            x = BAR_LEFT + (BAR_WIDTH - BAR_LEFT - 4.0) * phase.from_min / (1.02 * longest)
            width = (BAR_WIDTH - BAR_LEFT - 4.0) * phase.minutes / (1.02 * longest)
            shade = phase.name.replace(" ", "-")
            parts.append(
                f'<rect class="{shade}" x="{x:.1f}" y="{y:g}" width="{max(0.8, width):.1f}" height="{BAR_HEIGHT:g}"/>'
            )
    parts.append(f'<text x="{BAR_LEFT:g}" y="{height - 4:g}">0</text>')
    end = f"{longest:.0f} min"
    return "\n".join([*parts, f'<text x="{BAR_WIDTH:g}" y="{height - 4:g}" text-anchor="end">{end}</text>', "</svg>"])


def over_the_years(data: Path, book: Book, now_ms: int, days: int | None) -> list[Trend]:
    """Every trend: of the metal from the book, of the furnace from its care. days: so far back; None: all."""
    with open_log(data) as log:
        found, care = lines(book, log.firings()), all_figures(log, book)
    first_ms = 0 if days is None else now_ms - days * DAY_MS
    kept = [each for each in care if each.utc_ms >= first_ms and each.metal]
    return [*trends(since(found, first_ms)), *_of_the_furnace(kept)]


def _of_the_furnace(care: Sequence[Figures]) -> list[Trend]:
    ohm = [(each, each.element_ohm, each.element.sd) for each in care if each.element and each.element_ohm]
    off = [(each, each.sensor_offset_k, each.sensor_offset_sd_k) for each in care if each.sensor_offset_k is not None
           and _steady(each)]  # fmt: skip
    power = [(each, each.power_w, None) for each in care if each.power_w]
    return [
        _care("element", "Element, hot, mains taken out", "ohm", ohm,
              "nobody read the mains voltage beside a firing, so that age and mains cannot be told apart"),
        _care("power", "Power with the relay on", "W", power, "no meter has counted yet; mains and age are both in it"),
        _care("sensor", "Thermocouple over what melting metal should read", "K", off,
              "it is reckoned from the melts once the furnace is learned"),
    ]  # fmt: skip


def _care(own_id: str, title: str, unit: str, known: Sequence[tuple[Figures, float, float | None]], none: str) -> Trend:
    points = [
        Point(each.utc_ms, value, f"{each.firing_id}",
              None if sd is None else value - 1.645 * sd, None if sd is None else value + 1.645 * sd)
        for each, value, sd in known
    ]  # fmt: skip
    sentence = moved(points, title, unit) if points else f"{title}: {none}."
    return Trend(own_id, title, unit, [Series("", points)], sentence)


class Why(NamedTuple):
    """Why an ingot is poor, as far as the record goes."""

    ingot: Ingot
    seen: str
    sentence: str
    causes: Sequence[Cause]
    missing: str


def why_poor(data: Path, book: Book, name: str, seen: str) -> Why:
    """Read and rank it.

    Raises:
        InputRefused: there is no such ingot.
    """
    ingot = ingots.ingot_of(book, tree.named(book, name, ("ingot",)).id)
    try:
        with open_log(data) as log:
            found = evidence_of(book, log, ingot, seen=seen, sensor=_sensor(log, book, ingot))
    except InputRefused:  # an ingot of paper, in a book without a log
        found = evidence_of(book, None, ingot, seen=seen)
    causes = rank(found)
    return Why(ingot, seen or ingot.cut, verdict(causes, found), causes, missing(found))


def _sensor(log: Log, book: Book, ingot: Ingot) -> Sensor | None:
    """What the thermocouple read too high in this ingot's melt."""
    rows = log.rows("SELECT id FROM firing WHERE heat_number = ?", ingot.heat_number)
    if not rows:
        return None
    of = next((each for each in all_figures(log, book) if each.firing_id == rows[0]["id"]), None)
    if of is None or of.sensor_offset_k is None or not _steady(of):
        return None
    return Sensor(of.sensor_offset_k, of.sensor_offset_sd_k)


UNUSABLE = 1
"""The score of an ingot that is counted out."""


def _steady(of: Figures) -> bool:
    """Whether the metal melted as metal of its kind does: where it was other metal, the offset says nothing."""
    return of.sensor_offset_sd_k is not None and of.sensor_offset_sd_k <= STEADY_SD_K


def cost_of(
    frozen: Mapping[str, Any], energy_wh: float | None, balance: Balance, cast: Sequence[Ingot], hours: float
) -> Cost | None:
    """What a past melt cost, at the prices of its day; None: no price was known, or nothing is weighed yet."""
    usable_kg = sum(each.cast_kg or 0.0 for each in cast if each.score != UNUSABLE)
    if not energy_wh or not usable_kg:
        return None
    return cost(
        frozen.get("prices"),
        kwh=energy_wh / 1000.0,
        hours=hours,
        scrap_kg=balance.in_kg,
        bought_kg=0.0,
        usable_kg=usable_kg,
    )
