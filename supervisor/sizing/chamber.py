"""A furnace on paper: chamber, wall, lid, target, pot and metal; what it loses, and how long it takes."""

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING, NamedTuple

from supervisor.furnace.shape import Chamber, inside_m2
from supervisor.metal.enthalpy import MELTING_C, enthalpy_j_kg
from supervisor.refusal import InputRefused
from supervisor.sizing.films import Outside, radiated_w_m2
from supervisor.sizing.limits import MEMORY, TOUCH_C, Remark
from supervisor.sizing.walls import Layer, Loss, around, loss

if TYPE_CHECKING:  # numpy and scipy are fetched when something is to warm
    from supervisor.sizing.warming import Load

SEAMS = 1.3
"""Lid seam, element tails, sensor hole and pedestal add 20 to 50 % to what a closed wall loses (common practice)."""

POT_OF_METAL = 0.8
"""A pot weighs some four fifths of its metal, when nobody says (as the invented workshop's does)."""

LONGEST_H = 24.0
THERMOSTAT_K = 5.0
"""Power is taken back over so many kelvin below the target."""

_FACE_EMISSIVITY, _POT_EMISSIVITY = 0.75, 0.85  # brick near 1000 °C, clay-graphite (tables, from memory)


@dataclass(frozen=True, slots=True)
class Place:
    """What is to be heated. lid None: of the wall's layers."""

    chamber: Chamber
    layers: tuple[Layer, ...]
    lid: tuple[Layer, ...] | None
    target_c: float
    outside: Outside
    metal_kg: float
    pot_kg: float
    pour_c: float

    @property
    def inside_m2(self) -> float:
        """Area of the hot face."""
        return inside_m2(self.chamber)

    @property
    def thickness_m(self) -> float:
        """Of the wall."""
        return sum(layer.mm for layer in self.layers) / 1000.0

    def loss(self) -> Loss:
        """Settled loss at the target, without seams and holes."""
        return loss(self.chamber, self.layers, self.target_c, self.outside, self.lid)


class HeatUp(NamedTuple):
    """How a heat-up from the room's temperature goes. minutes None: not within a day."""

    minutes: float | None
    kwh: float


class Heats(NamedTuple):
    """The chamber's own figures, all reckoned."""

    loss: Loss
    hold_w: float  # seams included
    open_lid_w: float  # radiated by an open mouth at the target
    empty: HeatUp  # to the target, with the pot
    liquid: HeatUp | None  # until all is liquid; None: no metal
    pour: HeatUp | None
    ramp_w: float  # at the end of the ramp
    stored_kwh: float  # in wall and pot when the target is reached


def checked(place: Place) -> Place:
    """The same place, if it can be.

    Raises:
        InputRefused: the wall is too thick for the chamber's shape factors, or the target no hotter than the room.
    """
    for field, size_m in (("across", place.chamber.across_m), ("depth", place.chamber.depth_m)):
        if not size_m > place.thickness_m / 5.0:
            raise InputRefused(
                f"{field} is {1000 * size_m:g} mm; allowed: over {200 * place.thickness_m:g} mm, a fifth of the wall"
            )
    if not place.target_c > place.outside.room_c + 50.0:
        raise InputRefused(f"target is {place.target_c:.0f} °C; allowed: at least 50 K above the room")
    if place.metal_kg and not MELTING_C < place.pour_c <= place.target_c:
        raise InputRefused(
            f"pour is {place.pour_c:.0f} °C; allowed: above {MELTING_C:.0f}, up to the target, {place.target_c:.0f} °C"
        )
    return place


def heats(place: Place, lost: Loss, watts: float, ramp_c_per_h: float) -> Heats:
    """Holding and heat-ups at full power of a place that loses so much. scipy is fetched here."""
    extra_w_k = (SEAMS - 1.0) * lost.whole_w / (place.target_c - place.outside.room_c)
    empty, stored_kwh = _heat_up(place, watts, extra_w_k, 0.0, None)
    liquid = pour = None
    if place.metal_kg:
        liquid = _heat_up(place, watts, extra_w_k, place.metal_kg, MELTING_C + 1.0)[0]
        pour = _heat_up(place, watts, extra_w_k, place.metal_kg, place.pour_c)[0]
    ramp_w = _ramp_w(place, ramp_c_per_h) + (SEAMS - 1.0) * lost.whole_w
    open_w = radiated_w_m2(place.target_c, place.outside.room_c) * place.chamber.end_m2
    return Heats(lost, SEAMS * lost.whole_w, open_w, empty, liquid, pour, ramp_w, stored_kwh)


def remarks(place: Place, lost: Loss) -> list[Remark]:
    """What the wall's temperatures ask for."""
    found = []
    edge = [place.target_c, *lost.joints_c]
    for layer, hot_c in zip(place.layers, edge, strict=True):
        limit_c = layer.material.limit_c
        if limit_c is not None and hot_c > limit_c:
            words = f"{layer.material.words} gets {hot_c:.0f} °C on its hot side; it stands {limit_c:g} °C"
            found.append(Remark("refused", words, f"data sheet, {MEMORY}"))
    if lost.face_middle_c > TOUCH_C:
        words = f"the shell gets up to {lost.face_middle_c:.0f} °C: it burns who touches it; nothing may lie against it"
        found.append(Remark("warned", words, f"ISO 13732-1, the figure {MEMORY}"))
    return found


def pot_j(kg: float, to_c: float, from_c: float) -> float:
    """Heat in a pot. Clay-graphite: c = 800 + 0.65 T J/kg/K (from memory)."""
    return kg * (800.0 * (to_c - from_c) + 0.325 * (to_c**2 - from_c**2))


def _heat_up(place: Place, watts: float, extra_w_k: float, kg: float, to_c: float | None) -> tuple[HeatUp, float]:
    """From cold at full power until the pot is at to_c, or the hot face at the target; and what is then stored, kWh."""
    import numpy as np

    from supervisor.sizing.warming import Cells, under_power

    room_c, target_c = place.outside.room_c, place.target_c
    cells = Cells(around(place.chamber, place.layers), place.outside, room_c)

    def share(at_c: float) -> float:
        return min(1.0, max(0.0, (target_c + 1.0 - at_c) / THERMOSTAT_K))

    def net_w(_: float, at_c: float) -> float:
        return watts * share(at_c) - extra_w_k * (at_c - room_c)

    def over(face_c: float, load_c: float) -> float:
        return face_c - target_c if to_c is None else load_c - to_c

    load = _load(place, kg)
    course = under_power(cells, net_w, LONGEST_H * 3600.0, load, over)
    first_c = course.cells_c[:, 0]
    gross_w = np.array([watts * share(float(at_c)) for at_c in first_c])
    kwh = float(np.trapezoid(gross_w, course.s)) / 3.6e6
    minutes = float(course.s[-1]) / 60.0 if course.ended_early else None
    return HeatUp(minutes, kwh), float(course.stored_j[-1]) / 3.6e6


def _load(place: Place, kg: float) -> "Load":
    """Pot and metal as one lump, half as wide and three quarters as deep as the chamber (ours)."""
    import numpy as np

    from supervisor.sizing.warming import Load

    room_c = place.outside.room_c
    at_c = np.concatenate((np.arange(room_c, 650.0, 10.0), [655.0, MELTING_C], np.arange(665.0, 1500.0, 10.0)))
    metal_j = [kg * (enthalpy_j_kg(float(c), 655.0, MELTING_C) - enthalpy_j_kg(room_c)) for c in at_c]
    heat_j = [pot_j(max(place.pot_kg, 0.05), float(c), room_c) + j for c, j in zip(at_c, metal_j, strict=True)]
    wide_m, deep_m = place.chamber.across_m / 2.0, 0.75 * place.chamber.depth_m
    pot_m2 = pi * wide_m * deep_m + pi / 4.0 * wide_m**2
    grey = 1.0 / _POT_EMISSIVITY + pot_m2 / place.inside_m2 * (1.0 / _FACE_EMISSIVITY - 1.0)
    return Load(tuple(heat_j), tuple(float(c) for c in at_c), pot_m2 / grey)


def _ramp_w(place: Place, c_per_h: float) -> float:
    """What wall and pot take up at the end of an even ramp from the room to the target, W."""
    from supervisor.sizing.warming import Cells, at_face

    room_c = place.outside.room_c
    cells = Cells(around(place.chamber, place.layers), place.outside, room_c)
    rate_k_s = c_per_h / 3600.0
    for_s = (place.target_c - room_c) / rate_k_s
    course = at_face(cells, lambda t_s: room_c + rate_k_s * t_s, for_s, points=8)
    pot_w = max(place.pot_kg, 0.05) * (800.0 + 0.65 * place.target_c) * rate_k_s
    return cells.into_w(place.target_c, course.cells_c[-1]) + pot_w
