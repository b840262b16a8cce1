"""Model against data as SVG: what the probe read, what the model expected from the power alone, and the difference."""

from collections.abc import Callable, Sequence
from html import escape
from math import ceil
from typing import Any

from web.book import Units
from web.words import fahrenheit

WIDTH, TOP_HEIGHT, LOW_HEIGHT, GAP = 328, 150, 64, 30
LEFT, RIGHT, TOP, BOTTOM = 40, 6, 8, 22
LEAST_RANGE_K = 20.0

Scale = Callable[[float], float]


def against(series: dict[str, Any], name: str, units: Units) -> str:
    """One firing. series: t_s, measured_c and predicted_c of equal length, None where nothing was read."""
    show = fahrenheit if units == "F" else float
    t_s: list[float] = series["t_s"]
    measured = [None if c is None else show(c) for c in series["measured_c"]]
    predicted = [None if c is None else show(c) for c in series["predicted_c"]]
    off = [None if m is None or p is None else m - p for m, p in zip(measured, predicted, strict=True)]
    known = [value for value in (*measured, *predicted) if value is not None]
    top = 100.0 * ceil(max(known, default=100.0) / 100.0)
    most = max([LEAST_RANGE_K, *(abs(value) for value in off if value is not None)])
    most = 10.0 * ceil(most / 10.0)
    end_s = max(t_s, default=60.0) or 60.0
    low = TOP + TOP_HEIGHT + GAP

    def x(seconds: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * seconds / end_s

    def y(value: float) -> float:
        return TOP + TOP_HEIGHT * (1 - value / top)

    def z(value: float) -> float:
        return low + LOW_HEIGHT * (0.5 - value / (2 * most))

    unit, kelvin = ("°F", "°F") if units == "F" else ("°C", "K")
    height = low + LOW_HEIGHT + BOTTOM
    rms = _rms(off)
    title = f"{name}: read against expected over {end_s / 60:.0f} min, off by {rms:.0f} {kelvin} on the whole"
    parts = [
        f'<svg class="against" viewBox="0 0 {WIDTH} {height}" role="img" aria-label="{escape(title)}">',
        *_grid(y, range(0, int(top) + 1, 200 if top <= 1000 else 400), unit),
        f'<path class="expected" d="{_path(t_s, predicted, x, y)}"/>',
        f'<path class="read" d="{_path(t_s, measured, x, y)}"/>',
        f'<path class="expected over" d="{_path(t_s, predicted, x, y)}"/>',  # where both lie, dots show in the line
        *_grid(z, (-most, 0, most), kelvin),
        f'<path class="off" d="{_path(t_s, off, x, z)}"/>',
        *_minutes(x, end_s, height),
        "</svg>",
    ]
    return "\n".join(parts)


def _grid(y: Scale, values: Sequence[float], unit: str) -> list[str]:
    signed = min(values) < 0
    parts = [f'<text x="{LEFT + 4}" y="{y(max(values)) + 12:.1f}">{unit}</text>']
    for value in values:
        label = f"{value:+.0f}".replace("-", "−") if signed and value else f"{value:.0f}"
        parts.append(f'<path class="grid" d="M{LEFT} {y(value):.1f}H{WIDTH - RIGHT}"/>')
        parts.append(f'<text x="{LEFT - 4}" y="{y(value) + 4:.1f}" text-anchor="end">{label}</text>')
    return parts


def _minutes(x: Scale, end_s: float, height: float) -> list[str]:
    step = next((m for m in (10, 20, 30, 60, 120) if end_s / 60 / m <= 6), 240)
    return [
        f'<text x="{x(m * 60):.1f}" y="{height - 4}" text-anchor="{"middle" if m else "start"}">{m}'
        f"{' min' if m == 0 else ''}</text>"
        for m in range(0, int(end_s / 60) + 1, step)
    ]


def _path(t_s: Sequence[float], values: Sequence[float | None], x: Scale, y: Scale) -> str:
    words, pen = [], "M"
    for seconds, value in zip(t_s, values, strict=True):
        if value is None:
            pen = "M"
            continue
        words.append(f"{pen}{x(seconds):.1f} {y(value):.1f}")
        pen = "L"
    return "".join(words) or "M0 0"


def _rms(off: Sequence[float | None]) -> float:
    known = [value * value for value in off if value is not None]
    return (sum(known) / len(known)) ** 0.5 if known else 0.0
