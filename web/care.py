"""The furnace's own state as the page Equipment shows it: what is known, and its history as pictures."""

from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from supervisor.book.writing import read_book
from supervisor.care.faults import DEAD, SYMPTOMS, Symptom
from supervisor.care.figures import Figures
from supervisor.care.sensor import STEADY_SD_K
from supervisor.care.summary import Care, care
from supervisor.logbook.reading import open_log

MOST_K = 25.0
"""Further off than that no dot is drawn: it was other metal."""
WIDE, HIGH, LEFT, TOP, FOOT = 340.0, 132.0, 46.0, 10.0, 24.0


class Dot(NamedTuple):
    """One firing."""

    x: float
    y: float
    hollow: bool  # less certain than the others


class Line(NamedTuple):
    """A level across the picture, with its words."""

    y: float
    words: str


class Picture(NamedTuple):
    """In units of the picture, 340 by 132."""

    title: str
    dots: Sequence[Dot]
    lines: Sequence[Line]
    first: str
    last: str
    alt: str


class Shown(NamedTuple):
    """Everything of the section."""

    care: Care
    sensor: Picture | None
    element: Picture | None
    dead: str
    symptoms: dict[str, Symptom]


def shown(data: Path, book: Path, now_ms: int) -> Shown | None:
    """What is known; None where there is no log yet.

    Raises:
        InputRefused: log or book cannot be read.
    """
    if not (data / "furnace.db").is_file():
        return None
    with open_log(data) as log, read_book(book) as kept:
        found = care(log, kept, now_ms)
    return Shown(found, _offsets(found.sensor), _ohms(found.element), DEAD, SYMPTOMS)


def _offsets(figures: Sequence[Figures]) -> Picture | None:
    points = [(each, each.sensor_offset_k) for each in figures if each.sensor_offset_k is not None]
    if len(points) < 2:
        return None
    values = [
        (each.firing_id, min(max(value, -MOST_K), MOST_K), (each.sensor_offset_sd_k or 0.0) > STEADY_SD_K)
        for each, value in points
    ]
    words = f"{len(points)} melts: from {min(v for _, v in points):+.0f} to {max(v for _, v in points):+.0f} K"
    return _picture(
        "Reading less what is expected while metal melts, K; hollow: not as entered",
        values,
        (-10.0, 0.0, 10.0),
        "{:+.0f} K",
        words,
    )


def _ohms(figures: Sequence[Figures]) -> Picture | None:
    points = [(each, each.element) for each in figures if each.element is not None]
    if len(points) < 2:
        return None
    values = [
        (each.firing_id, element.apparent_ohm if element.ohm is None else element.ohm, element.ohm is None)
        for each, element in points
    ]
    new = sum(value for _, value, _ in values[:3]) / len(values[:3])
    words = f"{len(points)} firings: from {values[0][1]:.1f} to {values[-1][1]:.1f} ohm"
    levels = (new, 1.1 * new, 1.2 * new)
    return _picture("Hot resistance, ohm; hollow: nobody read the voltage", values, levels, "{:.1f}", words)


def _picture(
    title: str, values: Sequence[tuple[int, float, bool]], levels: Sequence[float], form: str, alt: str
) -> Picture:
    low = min(*(value for _, value, _ in values), *levels)
    high = max(*(value for _, value, _ in values), *levels)
    span = max(high - low, 1e-6)

    def y(value: float) -> float:
        return round(TOP + (HIGH - TOP - FOOT) * (high - value) / span, 1)

    step = (WIDE - LEFT - 20.0) / max(1, len(values) - 1)
    dots = [Dot(round(LEFT + 8.0 + n * step, 1), y(value), hollow) for n, (_, value, hollow) in enumerate(values)]
    lines = [Line(y(level), form.format(level)) for level in levels]
    return Picture(title, dots, lines, f"firing {values[0][0]}", f"firing {values[-1][0]}", f"{title}. {alt}.")
