"""Steady heat through a wall of layers: flat, or around a chamber with its edges, corners and lid."""

from collections.abc import Sequence
from math import log
from typing import NamedTuple

from supervisor.furnace.shape import Chamber, conducts, inside_m2, outside_m2, shape_factor_m, shell_m2
from supervisor.sizing.bricks import Material
from supervisor.sizing.films import Outside

_HALVINGS = 60


class Layer(NamedTuple):
    """One layer, hot side first in a wall."""

    material: Material
    mm: float


class Wall(NamedTuple):
    """Layers with areas: what conducts grows evenly from inside to outside; shell_m2 is what touches the room."""

    layers: tuple[Layer, ...]
    inside_m2: float
    outside_m2: float
    shell_m2: float

    @property
    def thickness_m(self) -> float:
        """All layers."""
        return sum(layer.mm for layer in self.layers) / 1000.0

    def area_m2(self, depth_m: float) -> float:
        """What conducts at a depth."""
        return self.inside_m2 + (self.outside_m2 - self.inside_m2) * depth_m / self.thickness_m

    def per_m(self, from_m: float, to_m: float) -> float:
        """Integral of dx / A between two depths, 1/m."""
        growth_m = (self.outside_m2 - self.inside_m2) / self.thickness_m
        if abs(growth_m) < 1e-9:
            return (to_m - from_m) / self.inside_m2
        return log(self.area_m2(to_m) / self.area_m2(from_m)) / growth_m


class Steady(NamedTuple):
    """Settled heat. faces_c: hot face, joints, outer face."""

    flow_w: float
    faces_c: tuple[float, ...]

    @property
    def shell_c(self) -> float:
        """The outer face, in the mean."""
        return self.faces_c[-1]


class Loss(NamedTuple):
    """What a chamber loses with everything settled, W, by its parts; the lid seam and holes are not in it."""

    sides_w: float
    floor_w: float
    lid_w: float
    edges_w: float
    corners_w: float
    shell_c: float  # the whole shell's mean
    face_middle_c: float  # in the middle of a large face: as a flat wall
    joints_c: tuple[float, ...]  # between layers of the wall, as a flat wall: the hottest that they get

    @property
    def whole_w(self) -> float:
        """All parts."""
        return sum(self[:5])


def flat(layers: Sequence[Layer], area_m2: float = 1.0) -> Wall:
    """A flat wall."""
    return Wall(tuple(layers), area_m2, area_m2, area_m2)


def around(chamber: Chamber, layers: Sequence[Layer]) -> Wall:
    """The wall around a chamber, lid and floor of the same: edges and corners are in its growing area."""
    thickness_m = sum(layer.mm for layer in layers) / 1000.0
    inner, outer = inside_m2(chamber), outside_m2(chamber, thickness_m)
    return Wall(tuple(layers), inner, outer, shell_m2(chamber, thickness_m))


def between_faces(wall: Wall, hot_c: float, cold_c: float) -> Steady:
    """Settled heat between two faces whose temperatures are known."""
    low, high = 0.0, _most_w(wall, hot_c, cold_c)
    for _ in range(_HALVINGS):
        flow_w = (low + high) / 2.0
        low, high = (flow_w, high) if _faces(wall, hot_c, flow_w)[-1] > cold_c else (low, flow_w)
    return Steady(low, _faces(wall, hot_c, low))


def to_room(wall: Wall, hot_c: float, outside: Outside) -> Steady:
    """Settled heat from the hot face to the room: what conduction brings the outer face gives off."""
    if hot_c <= outside.room_c:
        return Steady(0.0, (outside.room_c,) * (len(wall.layers) + 1))
    low, high = 0.0, _most_w(wall, hot_c, outside.room_c)
    for _ in range(_HALVINGS):
        flow_w = (low + high) / 2.0
        outer_c = _faces(wall, hot_c, flow_w)[-1]
        gives_w = outside.flux_w_m2(max(outer_c, outside.room_c)) * wall.shell_m2
        low, high = (flow_w, high) if gives_w > flow_w else (low, flow_w)
    return Steady(low, _faces(wall, hot_c, low))


def loss(
    chamber: Chamber, layers: Sequence[Layer], hot_c: float, outside: Outside, lid: Sequence[Layer] | None = None
) -> Loss:
    """Settled loss of a chamber, by parts. A lid of other layers: its face and half of the upper edges go by them."""
    thickness_m = sum(layer.mm for layer in layers) / 1000.0
    whole = to_room(around(chamber, layers), hot_c, outside)
    shares = [part / shape_factor_m(chamber, thickness_m) for part in conducts(chamber, thickness_m)]
    sides, floor, lid_w, edges, corners = (whole.flow_w * share for share in shares)
    if lid is not None:
        lid_m = sum(layer.mm for layer in lid) / 1000.0
        other = to_room(around(chamber, lid), hot_c, outside)
        lid_w = other.flow_w * conducts(chamber, lid_m).lid / shape_factor_m(chamber, lid_m)
    middle = to_room(flat(layers), hot_c, outside)
    return Loss(sides, floor, lid_w, edges, corners, whole.shell_c, middle.shell_c, middle.faces_c[1:-1])


def _most_w(wall: Wall, hot_c: float, cold_c: float) -> float:
    """No settled flow is more: every layer alone between the two temperatures."""
    edge_m, most = 0.0, float("inf")
    for layer in wall.layers:
        end_m = edge_m + layer.mm / 1000.0
        brings = layer.material.integral_w_m(hot_c) - layer.material.integral_w_m(cold_c)
        most, edge_m = min(most, brings / wall.per_m(edge_m, end_m)), end_m
    return most


def _faces(wall: Wall, hot_c: float, flow_w: float) -> tuple[float, ...]:
    """Temperatures from the hot face outward that this flow asks for; absolute zero at least."""
    found, edge_m = [hot_c], 0.0
    for layer in wall.layers:
        end_m = edge_m + layer.mm / 1000.0
        wanted = layer.material.integral_w_m(found[-1]) - flow_w * wall.per_m(edge_m, end_m)
        found.append(layer.material.where_c(wanted))
        edge_m = end_m
    return tuple(found)
