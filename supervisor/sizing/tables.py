"""The tables that sizing stands on, as they lie beside this file: a row each figure, with its source."""

import csv
from bisect import bisect_right
from collections.abc import Sequence
from functools import cache
from pathlib import Path


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """The rows of NAME.csv. Read once, when first asked for."""
    with Path(__file__).with_name(f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


def between(points: Sequence[tuple[float, float]], at: float) -> float:
    """Straight lines between points sorted by their first number; beyond either end the end's value."""
    if at <= points[0][0]:
        return points[0][1]
    if at >= points[-1][0]:
        return points[-1][1]
    n = bisect_right([x for x, _ in points], at)
    (x0, y0), (x1, y1) = points[n - 1], points[n]
    return y0 + (y1 - y0) * (at - x0) / (x1 - x0)
