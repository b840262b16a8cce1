"""The course of a profile as a picture: time to the right, temperature up, a number where each segment ends."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

WIDE, HIGH, LEFT, TOP, FOOT = 360.0, 190.0, 34.0, 18.0, 22.0
GRID_C = 200


class Mark(NamedTuple):
    """The end of a segment."""

    x: float
    y: float
    words: str


class Picture(NamedTuple):
    """In units of the picture, 360 by 190: a phone's own points."""

    line: str  # points of a polyline
    marks: Sequence[Mark]
    grid: Sequence[Mark]  # horizontal lines with their temperatures, °C
    hours: Sequence[Mark]
    alt: str


def picture(legs: Sequence[Mapping[str, Any]]) -> Picture:
    """Draw the legs of a profile, as the supervisor tells them."""
    total_s = max(1.0, float(sum(leg["duration_s"] for leg in legs)))
    top_c = max(100.0, *(float(max(leg["from_c"], leg["to_c"])) for leg in legs))

    def x(t_s: float) -> float:
        return round(LEFT + (WIDE - LEFT - 12.0) * t_s / total_s, 1)

    def y(c: float) -> float:
        return round(TOP + (HIGH - TOP - FOOT) * (1.0 - c / (1.05 * top_c)), 1)

    at_s, points, marks = 0.0, [(x(0.0), y(legs[0]["from_c"]))], []
    for number, leg in enumerate(legs, start=1):
        at_s += leg["duration_s"]
        points.append((x(at_s), y(leg["to_c"])))
        marks.append(Mark(*points[-1], str(number)))
    hours_all = total_s / 3600.0
    step_h = next(each for each in (0.5, 1.0, 2.0, 4.0) if hours_all / each <= 5.0 or each == 4.0)
    hours = [step_h * n for n in range(1, int(hours_all / step_h) + 1)]
    return Picture(
        " ".join(f"{px},{py}" for px, py in points),
        marks,
        [Mark(LEFT, y(c), f"{c}") for c in range(0, int(top_c) + 1, GRID_C)],
        [Mark(x(3600.0 * hour), HIGH - 5.0, f"{hour:g} h") for hour in hours],
        f"From {legs[0]['from_c']:.0f} to {legs[-1]['to_c']:.0f} °C in {hours_all:.1f} h, at most {top_c:.0f} °C",
    )
