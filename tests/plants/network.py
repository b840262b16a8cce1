"""Heat between nodes: energies are the state, links carry heat by conduction, convection and radiation.

Nothing here comes from `hardware.simulated`: these furnaces are there to be of another make.
"""

from math import sqrt
from typing import NamedTuple

ROOM_C = 20.0
STEFAN_BOLTZMANN = 5.670374e-8  # W/m²/K⁴


class Node(NamedTuple):
    """A body of one temperature; specific heat a + b T, J/kg/K, T in °C."""

    name: str
    mass_kg: float
    a_j_kg_k: float
    b_j_kg_k2: float = 0.0


class Link(NamedTuple):
    """Heat from one node to another, or to the room: (w_k + w_k2 * mean T) * dT + m2 * (difference of sigma T⁴)."""

    here: str
    there: str  # "room" is the room
    w_k: float = 0.0
    w_k2: float = 0.0
    m2: float = 0.0


class Network:
    """All nodes but the metal. Temperatures are looked up by the node's number."""

    def __init__(self, nodes: tuple[Node, ...], shut: tuple[Link, ...], opened: tuple[Link, ...], start_c: float):
        """shut and opened: the links when the lid is shut and when it is open."""
        self.number = {node.name: at for at, node in enumerate(nodes)} | {"room": len(nodes)}
        self._a = [node.mass_kg * node.a_j_kg_k for node in nodes]
        self._b = [node.mass_kg * node.b_j_kg_k2 for node in nodes]
        self.c = [start_c] * len(nodes) + [ROOM_C]
        self._j = [(a + b / 2.0 * start_c) * start_c for a, b in zip(self._a, self._b, strict=True)]
        self._links = tuple([self._numbered(link) for link in links] for links in (shut, opened))
        self._at_room_j = sum((a + b / 2.0 * ROOM_C) * ROOM_C for a, b in zip(self._a, self._b, strict=True))

    def _numbered(self, link: Link) -> tuple[int, int, float, float, float]:
        return self.number[link.here], self.number[link.there], link.w_k, link.w_k2 / 2.0, link.m2 * STEFAN_BOLTZMANN

    @property
    def stored_j(self) -> float:
        """Above the room, counted from the temperatures."""
        pairs = zip(self._a, self._b, self.c[:-1], strict=True)
        return sum((a + b / 2.0 * c) * c for a, b, c in pairs) - self._at_room_j

    def step(self, inflows_w: list[float], dt_s: float, *, lid_open: bool) -> float:
        """Go on by dt_s; inflows_w: what comes into each node from outside the network. What the room gets, W."""
        c = self.c
        fourth = [(t + 273.15) ** 4 for t in c]
        flow = [*inflows_w, 0.0]
        for here, there, w_k, half_w_k2, m2 in self._links[lid_open]:
            c1, c2 = c[here], c[there]
            w = (w_k + half_w_k2 * (c1 + c2)) * (c1 - c2) + m2 * (fourth[here] - fourth[there])
            flow[here] -= w
            flow[there] += w
        energies = self._j
        for i, (a, b) in enumerate(zip(self._a, self._b, strict=True)):
            energies[i] = j = energies[i] + flow[i] * dt_s
            c[i] = (sqrt(a * a + 2.0 * b * j) - a) / b if b else j / a
        return flow[-1]


class Layer(NamedTuple):
    """One material of a wall, hot side first."""

    name: str
    thickness_m: float
    cuts: int
    density_kg_m3: float
    a_j_kg_k: float
    w_m_k: float  # conductivity at 0 °C
    w_m_k2: float = 0.0  # its rise per K


def wall(
    layers: tuple[Layer, ...], face_m2: float, back_m2: float, film_w_m2_k: float
) -> tuple[list[Node], list[Link]]:
    """Nodes and links of a wall through several materials; the last one faces the room.

    Node centres sit in the middle of each cut; the area grows evenly with depth.
    """
    depth_m = sum(layer.thickness_m for layer in layers)
    nodes: list[Node] = []
    links: list[Link] = []
    at_m = 0.0
    before: tuple[str, float, float] | None = None  # name, half resistance at 0 °C, rise of conductivity over itself
    for layer in layers:
        cut_m = layer.thickness_m / layer.cuts
        for cut in range(layer.cuts):
            m2 = face_m2 + (back_m2 - face_m2) * (at_m + cut_m / 2.0) / depth_m
            at_m += cut_m
            name = f"{layer.name} {cut}"
            nodes.append(Node(name, layer.density_kg_m3 * m2 * cut_m, layer.a_j_kg_k))
            half_k_w, rise = cut_m / 2.0 / (layer.w_m_k * m2), layer.w_m_k2 / layer.w_m_k
            if before is not None:
                w_k = 1.0 / (before[1] + half_k_w)
                links.append(Link(before[0], name, w_k, w_k * (rise + before[2]) / 2.0))
            before = name, half_k_w, rise
    assert before is not None
    links.append(Link(before[0], "room", 1.0 / (before[1] + 1.0 / (film_w_m2_k * back_m2))))
    return nodes, links
