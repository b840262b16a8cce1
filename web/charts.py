"""A figure over months and years as a small SVG: a mark for each melt, its band where there is one, and the middle.

Kinds are told apart by the shape of their marks, never by colour alone.
"""

from collections.abc import Sequence
from datetime import UTC, datetime
from html import escape
from math import ceil, floor, log10
from statistics import median
from typing import NamedTuple

from supervisor.book.years import Point, Series, Trend

WIDTH, HEIGHT = 328.0, 170.0
LEFT, RIGHT, TOP, BOTTOM = 42.0, 8.0, 10.0, 24.0
DAY_MS = 86_400_000
SHAPES = ("dot", "ring", "square", "cross", "triangle", "bar")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


class Frame(NamedTuple):
    """Where a chart begins and ends."""

    first_ms: int
    last_ms: int
    low: float
    high: float
    step: float

    def x(self, utc_ms: int) -> float:
        """Across."""
        return LEFT + (WIDTH - LEFT - RIGHT) * (utc_ms - self.first_ms) / max(1, self.last_ms - self.first_ms)

    def y(self, value: float) -> float:
        """Up."""
        return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * (value - self.low) / (self.high - self.low)


def trend(found: Trend) -> str:
    """The chart of one trend; empty where there is no point."""
    points = [point for series in found.series for point in series.points]
    if not points:
        return ""
    frame = _frame(points)
    label = f"{found.title}, {found.unit}. {found.sentence}"
    parts = [f'<svg class="chart" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" aria-label="{escape(label)}">']
    parts += _levels(frame, found.unit)
    parts += _dates(frame)
    for number, series in enumerate(found.series):
        parts += _marks(frame, series, SHAPES[number % len(SHAPES)])
    return "\n".join([*parts, "</svg>"])


def key(found: Trend) -> list[tuple[str, str]]:
    """The shapes of a trend's kinds, as small pictures, with their names; nothing where there is one kind alone."""
    if len(found.series) < 2:
        return []
    return [(_small(SHAPES[number % len(SHAPES)]), each.name) for number, each in enumerate(found.series)]


def _small(shape: str) -> str:
    return f'<svg class="chart keymark" viewBox="0 0 16 16" aria-hidden="true">{_mark(8.0, 8.0, shape)}</svg>'


def _frame(points: Sequence[Point]) -> Frame:
    values = [value for point in points for value in (point.low, point.value, point.high) if value is not None]
    first, last = min(point.utc_ms for point in points), max(point.utc_ms for point in points)
    room = max(DAY_MS, (last - first) // 40)
    low, high = min(values), max(values)
    step = _step(max(high - low, 0.02 * abs(high), 1e-6) / 3.0)
    return Frame(first - room, last + room, step * floor(low / step), step * ceil(high / step + 1e-9) or step, step)


def _step(least: float) -> float:
    """1, 2 or 5 times a power of ten, no less than so much."""
    power = 10.0 ** floor(log10(least))
    return next(times * power for times in (1.0, 2.0, 5.0, 10.0) if times * power >= least * 0.999)


def _levels(frame: Frame, unit: str) -> list[str]:
    parts, digits = [], max(0, -floor(log10(frame.step)))
    count = round((frame.high - frame.low) / frame.step)
    for number in range(count + 1):
        value = frame.low + number * frame.step
        y = frame.y(value)
        parts.append(f'<path class="grid" d="M{LEFT:g} {y:.1f}H{WIDTH - RIGHT:g}"/>')
        parts.append(f'<text x="{LEFT - 5:g}" y="{y + 4:.1f}" text-anchor="end">{value:.{digits}f}</text>')
    return [*parts, f'<text x="{LEFT + 4:g}" y="{TOP + 10:g}">{escape(unit)}</text>']


def _dates(frame: Frame) -> list[str]:
    """First and last month below, and the years between where there are several."""
    first, last = (datetime.fromtimestamp(ms / 1000, UTC).astimezone() for ms in (frame.first_ms, frame.last_ms))
    y = HEIGHT - 6
    ends = [
        f'<text x="{LEFT:g}" y="{y:g}">{MONTHS[first.month - 1]} {first.year}</text>',
        f'<text x="{WIDTH - RIGHT:g}" y="{y:g}" text-anchor="end">{MONTHS[last.month - 1]} {last.year}</text>',
    ]
    lines = []
    for year in range(first.year + 1, last.year + 1):
        x = frame.x(round(datetime(year, 1, 1).astimezone().timestamp() * 1000))
        lines.append(f'<path class="grid" d="M{x:.1f} {TOP:g}V{HEIGHT - BOTTOM:g}"/>')
    return [*lines, *ends]


def _marks(frame: Frame, series: Series, shape: str) -> list[str]:
    middle = frame.y(median(point.value for point in series.points))
    parts = [f'<path class="middle" d="M{LEFT:g} {middle:.1f}H{WIDTH - RIGHT:g}"/>']
    for point in series.points:
        x, y = frame.x(point.utc_ms), frame.y(point.value)
        if point.low is not None and point.high is not None:
            parts.append(f'<path class="whisker" d="M{x:.1f} {frame.y(point.low):.1f}V{frame.y(point.high):.1f}"/>')
        parts.append(_mark(x, y, shape))
    return parts


def _mark(x: float, y: float, shape: str) -> str:
    match shape:
        case "dot":
            return f'<circle class="mark" cx="{x:.1f}" cy="{y:.1f}" r="3"/>'
        case "ring":
            return f'<circle class="mark hollow" cx="{x:.1f}" cy="{y:.1f}" r="3.2"/>'
        case "square":
            return f'<rect class="mark" x="{x - 2.8:.1f}" y="{y - 2.8:.1f}" width="5.6" height="5.6"/>'
        case "cross":
            return f'<path class="mark hollow" d="M{x - 3:.1f} {y - 3:.1f}l6 6m0 -6l-6 6"/>'
        case "triangle":
            return f'<path class="mark hollow" d="M{x:.1f} {y - 3.6:.1f}l3.6 6.4h-7.2z"/>'
    return f'<path class="mark hollow" d="M{x - 3.4:.1f} {y:.1f}h6.8"/>'
