"""What the data sheets let one reckon of a furnace while nothing is learned of it.

Good to some 30 % (compared with simulated furnaces only). What is learned from firings replaces it.
"""

from dataclasses import replace
from math import ceil, inf, log, pi, sqrt
from typing import NamedTuple

from supervisor.firing.profile import Hold, Profile, Ramp
from supervisor.furnace.description import FurnaceDescription, Wall
from supervisor.furnace.warming import WarmingWall
from supervisor.metal.charge import Charge
from supervisor.metal.enthalpy import MELTING_C, enthalpy_j_kg

ROOM_C = 20.0

FILM_W_M2_K = 11.0
"""Outer face to the room, still air and radiation together: 10 at a shell of 40 °C to 14 at 100 °C, reckoned by the
natural convection of Churchill and Chu with an emissivity of 0.9; the value between is our choice."""

SEAMS = 1.3
"""Lid seam, element tails, sensor hole and pedestal add 20 to 50 % to what a closed wall loses (common practice, no
source)."""

METER_FITS = 0.75, 1.35
"""Metered over ordered power outside of these is used by nobody. An element of a fifth less than the furnace file's
resistance takes a quarter more, and mains may be a few per cent high beside that (our choice)."""

ALLOWED_OVER_NEED = 1.5
"""A firing may use this many times the energy that it is reckoned to need (our choice: the reckoning is that rough)."""

ELEMENT_WH = 30.0
"""To bring the element itself to its working heat, some 700 K above the room: 0.25 kg of wire, 0.6 kJ/kg/K (our choice,
rounded up). It is what a short, cool firing needs most of."""

_J_PER_WH = 3600.0
_STEP_S = 15.0
_MOST_STEPS = 400  # a furnace is started from one cycle of the supervisor, on a small computer too


class WallFlow(NamedTuple):
    """Steady heat through a wall and the temperature of its outer face."""

    flow_w: float
    outer_c: float


def conduction_w(wall: Wall, inner_c: float, outer_c: float) -> float:
    """Heat through the wall between two face temperatures, W.

    Fourier's law, one dimension. Conductivity rises evenly with temperature, so its mean over the faces is exact; the
    area grows evenly from inside to outside, so its logarithmic mean is exact (a plane wall and a tube are both of this
    kind).
    """
    mean_w_m_k = wall.conductivity_w_m_k + wall.conductivity_per_k * (inner_c + outer_c) / 2.0
    return mean_w_m_k * _mean_area_m2(wall) / wall.thickness_m * (inner_c - outer_c)


def through_wall(wall: Wall, inner_c: float, room_c: float = ROOM_C, film_w_m2_k: float = FILM_W_M2_K) -> WallFlow:
    """Steady heat from the hot face to the room, W, and the outer face's temperature, °C.

    What conduction brings, the outer film takes: a quadratic in the outer face's temperature.
    """
    shape_m = _mean_area_m2(wall) / wall.thickness_m
    film_w_k = film_w_m2_k * wall.outside_m2
    a = shape_m * wall.conductivity_per_k / 2.0
    b = shape_m * wall.conductivity_w_m_k + film_w_k
    c = shape_m * (wall.conductivity_w_m_k + wall.conductivity_per_k * inner_c / 2.0) * inner_c + film_w_k * room_c
    outer_c = 2.0 * c / (b + sqrt(b * b + 4.0 * a * c))  # the form that holds for a = 0 too
    return WallFlow(film_w_k * (outer_c - room_c), outer_c)


def loss_w(furnace: FurnaceDescription, chamber_c: float) -> float:
    """What the furnace loses with everything settled at chamber_c, W; the lid is folded into the wall."""
    if chamber_c <= ROOM_C:
        return 0.0
    return SEAMS * through_wall(furnace.wall, chamber_c).flow_w


def open_lid_w(furnace: FurnaceDescription, chamber_c: float) -> float:
    """What goes out through the opening under an open lid, W: radiation of a cavity, and air that rises from it.

    The opening is taken for a sixth of the inside, as in a round chamber a little deeper than wide (our choice).
    """
    opening_m2 = furnace.wall.inside_m2 / 6.0
    kelvin, room_k = chamber_c + 273.15, ROOM_C + 273.15
    radiated_w_m2 = 0.7 * 5.670374e-8 * (kelvin**4 - room_k**4)
    return max(0.0, opening_m2 * (radiated_w_m2 + 18.0 * (chamber_c - ROOM_C)))


def settled_duty(furnace: FurnaceDescription, chamber_c: float) -> float:
    """The duty that keeps chamber_c once all is settled; above 1 the furnace cannot."""
    return loss_w(furnace, chamber_c) / furnace.full_power_w


def crucible_wh(furnace: FurnaceDescription, to_c: float) -> float:
    """Heat in the pot at to_c, Wh above the room. Clay-graphite: c = 800 + 0.65 T J/kg/K (from memory)."""
    return pot_j_k(furnace, (to_c + ROOM_C) / 2.0) * (to_c - ROOM_C) / _J_PER_WH


def metal_wh(charge: Charge, to_c: float) -> float:
    """Heat to bring a charge from 20 °C to to_c, melting included, Wh. Unknown metal counts as pure aluminium."""
    solidus_c = MELTING_C if charge.solidus_c is None else charge.solidus_c
    liquidus_c = MELTING_C if charge.liquidus_c is None else charge.liquidus_c
    return charge.mass_kg * enthalpy_j_kg(to_c, solidus_c, liquidus_c) / _J_PER_WH


class Leg(NamedTuple):
    """One segment as planned, nothing waited for."""

    from_c: float
    to_c: float
    duration_s: float


def legs(segments: tuple[Ramp | Hold, ...], start_c: float = ROOM_C) -> list[Leg]:
    """The segments with where each starts and how long it takes if the reading follows and nobody is waited for."""
    found, at_c = [], start_c
    for segment in segments:
        if isinstance(segment, Hold):
            found.append(Leg(at_c, at_c, segment.duration_s))
        elif segment.rate_c_per_h is not None and not segment.fastest:
            found.append(Leg(at_c, segment.to_c, abs(segment.to_c - at_c) / segment.rate_c_per_h * 3600.0))
        else:
            found.append(Leg(at_c, segment.to_c, segment.duration_s or 0.0))
        at_c = found[-1].to_c
    return found


def nominal_duration_s(profile: Profile, start_c: float = ROOM_C) -> float:
    """How long the profile takes from start_c if the reading follows and nobody is waited for, s."""
    return sum(leg.duration_s for leg in legs(profile.segments, start_c))


def need_wh(furnace: FurnaceDescription, profile: Profile) -> float:
    """The energy of this profile from cold to its end, Wh: what lining, pot and metal take up and what is lost.

    Pot and metal are taken to be as hot as the chamber. What they and the lining give back while the chamber falls
    covers the loss of that time and no more.
    """
    wall = WarmingWall(furnace.wall, ROOM_C, FILM_W_M2_K)
    planned = legs(profile.segments)
    longest_step_s = max(_STEP_S, sum(leg.duration_s for leg in planned) / _MOST_STEPS)
    needed_wh, held_wh = 0.0, 0.0
    for leg in planned:
        steps = max(1, ceil(leg.duration_s / longest_step_s))
        dt_s = leg.duration_s / steps
        for step in range(1, steps + 1):
            at_c = leg.from_c + (leg.to_c - leg.from_c) * step / steps
            before_wh, held_wh = held_wh, _held_wh(furnace, profile.charge, at_c)
            lining_wh = wall.step(at_c, dt_s) / _J_PER_WH if dt_s else 0.0
            seams_wh = (1.0 - 1.0 / SEAMS) * loss_w(furnace, at_c) * dt_s / _J_PER_WH
            needed_wh += max(0.0, lining_wh + seams_wh + held_wh - before_wh)
    return needed_wh


def _held_wh(furnace: FurnaceDescription, charge: Charge | None, at_c: float) -> float:
    return crucible_wh(furnace, at_c) + (metal_wh(charge, at_c) if charge else 0.0)


def allowance_wh(furnace: FurnaceDescription, profile: Profile) -> float:
    """The energy that the firing may use before heat is limited, Wh.

    How long a dry-out takes nobody knows: there it is what keeps its hottest hold for as long as the firing may last.
    """
    return ALLOWED_OVER_NEED * (need_wh(furnace, at_longest(profile)) + ELEMENT_WH)


def at_longest(profile: Profile) -> Profile:
    """A dry-out whose hottest hold takes all the time that its longest duration leaves; any other profile as it is."""
    if not profile.dries:
        return profile
    at_c, where, hottest_c = ROOM_C, -1, -inf
    for number, segment in enumerate(profile.segments):
        if isinstance(segment, Ramp):
            at_c = segment.to_c
        elif segment.until_dry and at_c >= hottest_c:
            where, hottest_c = number, at_c
    spare_s = max(0.0, profile.longest_s - nominal_duration_s(profile))
    hold = profile.segments[where]
    longer = replace(hold, duration_s=(hold.duration_s or 0.0) + spare_s)
    return replace(profile, segments=(*profile.segments[:where], longer, *profile.segments[where + 1 :]))


def fastest_ramp_c_per_h(furnace: FurnaceDescription, at_c: float, from_c: float = ROOM_C) -> float:
    """The fastest even ramp from from_c that full power can still follow at at_c, °C/h; 0 if it cannot get there.

    Full power less the settled loss at at_c goes into pot and lining. A lining whose face rises at the even rate r
    takes up 2 r sqrt(k rho c t / pi) W/m² after t seconds (semi-infinite solid; Carslaw and Jaeger, Conduction of Heat
    in Solids, section 2.5, from memory). No charge is counted: metal makes it slower, and the setpoint then waits.
    """
    spare_w = furnace.full_power_w - loss_w(furnace, at_c)
    if spare_w <= 0.0:
        return 0.0
    wall = furnace.wall
    mean_w_m_k = wall.conductivity_w_m_k + wall.conductivity_per_k * (at_c + ROOM_C) / 2.0
    absorbs = mean_w_m_k * wall.density_kg_m3 * wall.specific_heat_j_kg_k
    # With r t = at_c - from_c the lining takes lining_w * sqrt(r): a quadratic in sqrt(r).
    lining_w = 2.0 * wall.inside_m2 * sqrt(absorbs * max(0.0, at_c - from_c) / pi)
    takes_j_k = pot_j_k(furnace, at_c)
    root = (sqrt(lining_w**2 + 4.0 * takes_j_k * spare_w) - lining_w) / (2.0 * takes_j_k)
    return 3600.0 * min(root**2, furnace.response.fastest_rise_c_per_s)


def pot_j_k(furnace: FurnaceDescription, at_c: float) -> float:
    """Heat that the empty pot takes up per kelvin at this temperature, J/K."""
    return furnace.crucible.mass_kg * (800.0 + 0.65 * at_c)


def _mean_area_m2(wall: Wall) -> float:
    if abs(wall.outside_m2 - wall.inside_m2) < 1e-9 * wall.inside_m2:
        return wall.inside_m2
    return (wall.outside_m2 - wall.inside_m2) / log(wall.outside_m2 / wall.inside_m2)
