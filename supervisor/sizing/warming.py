"""A wall on its way to being warm: conduction in one dimension through its layers, by scipy's stiff integrator.

Finite volumes; the area grows from inside to outside as in `walls`. A load, pot and metal, may stand before the hot
face and be warmed by its radiation. scipy is fetched when it is asked for: some 40 MB.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from supervisor.refusal import InputRefused
from supervisor.sizing.films import KELVIN, STEFAN_BOLTZMANN, Outside
from supervisor.sizing.walls import Wall

Floats = NDArray[np.float64]

CELLS = 20
"""Of each layer; those of the first grow from the hot face on."""
GROWTH = 1.15
LONGEST_S = 30.0 * 86_400.0

PowerW = Callable[[float, float], float]
"""Power into the hot face at a time, s, and at the first cell's temperature, °C."""


@dataclass(frozen=True, slots=True)
class Load:
    """What stands in the chamber: heat in it, J, against its temperature, and how much of it radiation sees."""

    heat_j: tuple[float, ...]
    at_c: tuple[float, ...]
    sees_m2: float  # area times emissivities


class Course(NamedTuple):
    """What was reckoned: times, and temperatures at each, a row a time."""

    s: Floats
    face_c: Floats
    cells_c: Floats  # a column each cell, hot side first
    depth_m: Floats  # of the cells' middles
    load_c: Floats
    supplied_j: Floats
    stored_j: Floats  # of wall and load, since the start
    ended_early: bool  # what was waited for came


class Cells:
    """A wall in cells: what lies between their middles, and what they store."""

    def __init__(self, wall: Wall, outside: Outside | None, start_c: float):
        self.wall, self.outside, self.start_c = wall, outside, start_c
        edges, of = _edges(wall)
        self.depth_m = (edges[:-1] + edges[1:]) / 2.0
        self._inner = np.array([wall.per_m(a, b) for a, b in zip(edges[:-1], self.depth_m, strict=True)])
        self._outer = np.array([wall.per_m(a, b) for a, b in zip(self.depth_m, edges[1:], strict=True)])
        areas = np.array([wall.area_m2(float(depth)) for depth in self.depth_m])
        self._conducts = [_points(wall.layers[n].material.conductivity_w_m_k) for n in range(len(wall.layers))]
        self._warm = [_points(wall.layers[n].material.specific_heat_j_kg_k) for n in range(len(wall.layers))]
        density = np.array([layer.material.density_kg_m3 for layer in wall.layers])
        if not np.all(density > 0.0):
            raise InputRefused(
                "a layer has no density; allowed: a material of the table, or one with its density and specific heat"
            )
        self._slices = [np.flatnonzero(of == n) for n in range(len(wall.layers))]
        self._same = of[:-1] == of[1:]  # within a material the mean of both conductivities is exact where it is a line
        if outside is not None:
            self._face_c = np.arange(outside.room_c - 80.0, 1500.0, 4.0)
            self._gives_w = wall.shell_m2 * np.array([outside.flux_w_m2(float(at_c)) for at_c in self._face_c])
        self._kg = density[of] * areas * np.diff(edges)

    def conductivity(self, at_c: Floats) -> Floats:
        """W/m/K of each cell."""
        return self._by_layer(self._conducts, at_c)

    def heat_j_k(self, at_c: Floats) -> Floats:
        """J/K of each cell."""
        heat: Floats = self._kg * self._by_layer(self._warm, at_c)
        return heat

    def stored_j(self, at_c: Floats) -> float:
        """Heat since the start: specific heat taken at the mean of both temperatures, exact on one line."""
        return float(np.sum(self.heat_j_k((at_c + self.start_c) / 2.0) * (at_c - self.start_c)))

    def into_w(self, face_c: float, at_c: Floats) -> float:
        """What the hot face takes up at a temperature."""
        return float(self.conductivity(at_c)[0] * (face_c - at_c[0]) / self._inner[0])

    def face_c(self, power_w: float, at_c: Floats) -> float:
        """The hot face's temperature that brings this power in."""
        return float(at_c[0] + power_w * self._inner[0] / self.conductivity(at_c)[0])

    def flows_w(self, at_c: Floats) -> Floats:
        """From each cell to the next, and from the last to the room."""
        k = self.conductivity(at_c)
        apart = self._outer[:-1] + self._inner[1:]
        series = np.where(
            self._same, 2.0 * apart / (k[:-1] + k[1:]), self._outer[:-1] / k[:-1] + self._inner[1:] / k[1:]
        )
        between = (at_c[:-1] - at_c[1:]) / series
        return np.append(between, self._leaves_w(float(at_c[-1]), float(k[-1])))

    def _leaves_w(self, last_c: float, k: float) -> float:
        """From the last cell's middle to the room: Newton's steps to the face between its half and the film."""
        if self.outside is None:
            return 0.0
        half_k_w, face_c, leaves_w = self._outer[-1] / k, last_c, 0.0
        for _ in range(4):
            leaves_w, next_w = np.interp((face_c, face_c + 1.0), self._face_c, self._gives_w)
            face_c -= (face_c + leaves_w * half_k_w - last_c) / (1.0 + (next_w - leaves_w) * half_k_w)
        return float(np.interp(face_c, self._face_c, self._gives_w))

    def _by_layer(self, points: list[tuple[Floats, Floats]], at_c: Floats) -> Floats:
        found = np.empty_like(at_c)
        for (x, y), cells in zip(points, self._slices, strict=True):
            found[cells] = np.interp(at_c[cells], x, y)
        return found


def at_face(cells: Cells, face_c: Callable[[float], float], for_s: float, points: int = 60) -> Course:
    """The hot face follows a course of its own."""

    def rates(t_s: float, state: Floats) -> Floats:
        at_c = state[1:]
        into_w = cells.into_w(face_c(t_s), at_c)
        return np.append(into_w, _rates(cells, into_w, at_c))

    found = _solve(rates, np.append(0.0, np.full(len(cells.depth_m), cells.start_c)), for_s, None, points)
    states, supplied = found.y[1:].T, found.y[0]
    stored = np.array([cells.stored_j(row) for row in states])
    faces = np.array([face_c(float(t)) for t in found.t])
    return Course(found.t, faces, states, cells.depth_m, np.full(len(found.t), np.nan), supplied, stored, False)


def under_power(
    cells: Cells,
    power_w: PowerW,
    for_s: float,
    load: Load | None = None,
    until: Callable[[float, float], float] | None = None,
) -> Course:
    """Power goes into the hot face; `until(face_c, load_c)` rising through 0 ends it."""
    count = len(cells.depth_m)

    def parts(t_s: float, state: Floats) -> tuple[float, float, float, float]:
        load_c = float(np.interp(state[1], load.heat_j, load.at_c)) if load else cells.start_c
        at_c = state[2:]
        sees = load.sees_m2 if load else 0.0
        face_c, to_load_w, given_w = float(at_c[0]), 0.0, power_w(t_s, float(at_c[0]))
        for _ in range(4):  # the face's temperature and what it radiates hang together
            to_load_w = sees * STEFAN_BOLTZMANN * ((face_c + KELVIN) ** 4 - (load_c + KELVIN) ** 4)
            face_c += 0.7 * (cells.face_c(given_w - to_load_w, at_c) - face_c)
        return face_c, load_c, to_load_w, given_w

    def rates(t_s: float, state: Floats) -> Floats:
        _, _, to_load_w, given_w = parts(t_s, state)
        return np.concatenate(([given_w, to_load_w], _rates(cells, given_w - to_load_w, state[2:])))

    def event(t_s: float, state: Floats) -> float:
        face_c, load_c, *_ = parts(t_s, state)
        return until(face_c, load_c) if until else -1.0

    start = np.concatenate(([0.0, load.heat_j[0] if load else 0.0], np.full(count, cells.start_c)))
    found = _solve(rates, start, for_s, event if until else None, 60)
    rows = [parts(float(t), state) for t, state in zip(found.t, found.y.T, strict=True)]
    states = found.y[2:].T
    stored = np.array([cells.stored_j(row) for row in states]) + (found.y[1] - start[1])
    faces, loads = np.array([row[0] for row in rows]), np.array([row[1] for row in rows])
    return Course(found.t, faces, states, cells.depth_m, loads, found.y[0], stored, found.status == 1)


def _rates(cells: Cells, into_w: float, at_c: Floats) -> Floats:
    flows = cells.flows_w(at_c)
    comes = np.concatenate(([into_w], flows[:-1]))
    return (comes - flows) / cells.heat_j_k(at_c)


def _solve(rates: Any, start: Floats, for_s: float, event: Any, points: int) -> Any:
    from scipy.integrate import solve_ivp

    if event is not None:
        event.terminal, event.direction = True, 1.0
    times = np.linspace(0.0, for_s, points)
    return solve_ivp(
        rates, (0.0, for_s), start, method="LSODA", t_eval=None if event is not None else times, events=event,
        rtol=1e-6, atol=1e-2, max_step=for_s / 20.0,
        lband=1, uband=2,  # each state hangs on its neighbours alone, the first two on the second next
    )  # fmt: skip


def _edges(wall: Wall) -> tuple[Floats, NDArray[np.intp]]:
    """Depths of the cells' edges, and the layer of each."""
    edges, of = [0.0], []
    for n, layer in enumerate(wall.layers):
        shares = GROWTH ** np.arange(CELLS) if n == 0 else np.ones(CELLS)
        ends = edges[-1] + np.cumsum(shares / shares.sum()) * layer.mm / 1000.0
        edges += [float(end) for end in ends]
        of += [n] * CELLS
    return np.array(edges), np.array(of)


def _points(points: tuple[tuple[float, float], ...]) -> tuple[Floats, Floats]:
    return np.array([x for x, _ in points]), np.array([y for _, y in points])
