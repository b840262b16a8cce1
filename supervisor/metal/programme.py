"""Masses that keep limits over their bands: a linear programme, and cuts for what the bands come to.

A limit on the likely value is a straight line in the masses. A limit over the band is not: bands of different lots are
taken for independent, so that they add as squares. But it is convex, and each cut is a line that no allowed mix is
beyond: the programme is solved, cut where it went too far, and solved again, until nothing is too far (Kelley, Journal
of the Society for Industrial and Applied Mathematics 8 (1960) 703).
"""

import json
import sys
from collections.abc import Callable, Sequence
from math import hypot
from typing import NamedTuple

EXACT = 1e-6
"""So far beyond a limit is on it: kg of an element in a charge of some kg."""

MOST_CUTS = 80


class Row(NamedTuple):
    """One limit: sum(line * kg) + the root of sum((band * kg)²) is at most 0, or the row is short by the rest.

    short: what a kg of being short costs; None: it must hold.
    """

    line: Sequence[float]
    band: Sequence[float]
    short: float | None = None


class Programme(NamedTuple):
    """What costs least within the limits. total_kg: of all masses together, from least to most."""

    cost: Sequence[float]  # of a kg of each
    most_kg: Sequence[float]
    least_kg: Sequence[float]
    total_kg: tuple[float, float]
    rows: Sequence[Row]


class Solved(NamedTuple):
    """The masses, and how much each row is short, kg."""

    kg: Sequence[float]
    short_kg: Sequence[float]
    cost: float


Solver = Callable[[Sequence[Programme]], list[Solved | None]]
"""Solves several; None: no masses keep its limits."""


def solve_all(programmes: Sequence[Programme]) -> list[Solved | None]:
    """Solve them here. scipy is fetched by the first call: some 30 MB."""
    return [_solve(each) for each in programmes]


def _solve(of: Programme) -> Solved | None:
    from scipy.optimize import linprog

    count, shorts = len(of.cost), [row.short for row in of.rows]
    bounds = [
        *zip(of.least_kg, of.most_kg, strict=True),
        *((0.0, None if each is not None else 0.0) for each in shorts),
    ]
    cost = [*of.cost, *(each or 0.0 for each in shorts)]
    lines = [_cut(row.line, number, len(shorts)) for number, row in enumerate(of.rows)]
    limits = [0.0] * len(lines)
    all_of_it = [1.0] * count + [0.0] * len(shorts)
    lines += [all_of_it, [-each for each in all_of_it]]
    limits += [of.total_kg[1], -of.total_kg[0]]
    for _ in range(MOST_CUTS):
        found = linprog(cost, A_ub=lines, b_ub=limits, bounds=bounds, method="highs")
        if not found.success:
            return None
        kg, short_kg = [float(each) for each in found.x[:count]], [float(each) for each in found.x[count:]]
        cuts = [_beyond(row, number, len(shorts), kg, short_kg[number]) for number, row in enumerate(of.rows)]
        if not any(cuts):
            return Solved(kg, short_kg, float(found.fun))
        lines += [each for each in cuts if each]
        limits += [0.0] * sum(1 for each in cuts if each)
    return None  # not within so many cuts: not shown as kept


def _cut(line: Sequence[float], number: int, shorts: int) -> list[float]:
    return [*line, *(-1.0 if each == number else 0.0 for each in range(shorts))]


def _beyond(row: Row, number: int, shorts: int, kg: Sequence[float], short_kg: float) -> list[float]:
    """The cut that a row asks for at these masses; empty: it is kept."""
    wide = hypot(*(band * each for band, each in zip(row.band, kg, strict=True)))
    at = sum(line * each for line, each in zip(row.line, kg, strict=True))
    if wide <= 0.0 or at + wide - short_kg <= EXACT:
        return []
    slope = [line + band**2 * each / wide for line, band, each in zip(row.line, row.band, kg, strict=True)]
    return _cut(slope, number, shorts)


def as_json(programmes: Sequence[Programme]) -> str:
    """Programmes as `main` reads them."""
    return json.dumps([[*each[:4], [list(row) for row in each.rows]] for each in programmes])


def main() -> None:
    """A process of its own for whoever must not carry the library: programmes as JSON in, what came of each out."""
    asked = json.load(sys.stdin)
    programmes = [
        Programme(each[0], each[1], each[2], (each[3][0], each[3][1]), [Row(*row) for row in each[4]]) for each in asked
    ]
    json.dump(solve_all(programmes), sys.stdout)


if __name__ == "__main__":
    main()
