"""The model's constants of one furnace: areas, masses and conductances, from what the furnace file says."""

from dataclasses import dataclass
from math import pi
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from supervisor.furnace.description import FurnaceDescription, Wall
from supervisor.furnace.reckoning import FILM_W_M2_K

Floats = NDArray[np.float64]

STEFAN_BOLTZMANN = 5.670374e-8  # W/m²/K⁴
KELVIN = 273.15

LAYER_SHARES = np.array([4.0, 8.0, 12.0, 18.0, 23.0]) / 65.0
"""Of the wall's thickness, hot side first: thin where the heat comes and goes fast (our choice)."""

_BRICK_WARMS_PER_K = 2.6e-4  # rise of a brick's specific heat with temperature, over its value at 440 °C (tables)
_BRICK_MEAN_C = 440.0

# Of the inside area, for a round chamber a little deeper than it is wide (our choice).
_OPENING_SHARE = 0.156
_LEAK_SHARE, _LEAK_W_M2_K = 2.8e-3, 0.55  # settled at 740 °C they come to a fifth of the loss

_TAPER = 0.8  # a pot is narrower at its foot
_FACE_EMISSIVITY, _POT_EMISSIVITY = 0.75, 0.85  # brick near 1000 °C, clay-graphite (tables, from memory)
BATH_EMISSIVITY = 0.3
_LIQUID_KG_M3 = 2370.0  # aluminium just molten (handbooks, from memory)
_CONTACT_FILL = 2.0 / 3.0

# Contact of pot and metal, and of the metal's two halves, per m² of wetted pot: our choice, the least certain here.
SOLID_W_M2_K, LIQUID_W_M2_K = 120.0, 710.0
SOLID_BETWEEN_W_M2_K, LIQUID_BETWEEN_W_M2_K = 60.0, 950.0

_ELEMENT_W_M2 = 28_000.0  # usual surface load of a wire element at full power
_ELEMENT_SEEN = 0.6 * 0.7  # share of its surface that sees the chamber, times the emissivity of oxidised wire
_WIRE_J_K_M2 = 2.5 * 620.0  # kg per m² of 1.4 mm wire, J/kg/K at working heat


@dataclass(frozen=True, eq=False)
class Geometry:
    """Constants of one furnace. Rows of arrays are the lining's layers, hot side first, (5, 1)."""

    depth: Floats  # of the layers' middles, share of the thickness
    inner_per_m: Floats  # integral of dx / A through the inner half of each layer
    outer_per_m: Floats
    brick_j_k: Floats  # heat capacity at 0 °C
    brick_j_k2: Floats  # its rise with temperature
    brick_w_m_k: float  # conductivity at 0 °C
    brick_w_m_k2: float
    film_k_w: float  # outer face to the room
    opening_m2: float  # under an open lid
    leak_m2: float  # radiating
    leak_w_k: float
    wall_to_pot_m2: float  # radiating
    pot_kg: float
    bath_m2: float
    whole_contact_kg: float  # with this much metal the contacts are as given; two thirds of the pot's fill
    wetted_m2: float  # then
    element_m2: float  # radiating
    element_j_k: float


def geometry(furnace: FurnaceDescription) -> Geometry:
    """Work the constants out."""
    wall, pot = furnace.wall, furnace.crucible
    edges_m = np.concatenate([[0.0], np.cumsum(LAYER_SHARES)]) * wall.thickness_m
    middles_m = (edges_m[:-1] + edges_m[1:]) / 2.0
    at_mean_j_k = wall.density_kg_m3 * wall.specific_heat_j_kg_k * _area_m2(wall, middles_m) * np.diff(edges_m)
    bore_m = pot.bore_mm / 1000.0
    bath_m2 = pi / 4.0 * bore_m**2
    pot_m2 = _TAPER * (pi * bore_m * pot.depth_mm / 1000.0 + bath_m2)
    between_grey = 1.0 / _POT_EMISSIVITY + pot_m2 / wall.inside_m2 * (1.0 / _FACE_EMISSIVITY - 1.0)
    whole_contact_kg = _CONTACT_FILL * pot.capacity_kg
    wire_m2 = furnace.full_power_w / _ELEMENT_W_M2
    return Geometry(
        depth=(middles_m / wall.thickness_m)[:, None],
        inner_per_m=_per_m(wall, edges_m[:-1], middles_m),
        outer_per_m=_per_m(wall, middles_m, edges_m[1:]),
        brick_j_k=(at_mean_j_k * (1.0 - _BRICK_WARMS_PER_K * _BRICK_MEAN_C))[:, None],
        brick_j_k2=(at_mean_j_k * _BRICK_WARMS_PER_K)[:, None],
        brick_w_m_k=wall.conductivity_w_m_k,
        brick_w_m_k2=wall.conductivity_per_k,
        film_k_w=1.0 / (FILM_W_M2_K * wall.outside_m2),
        opening_m2=_OPENING_SHARE * wall.inside_m2,
        leak_m2=_LEAK_SHARE * wall.inside_m2,
        leak_w_k=_LEAK_W_M2_K * wall.inside_m2,
        wall_to_pot_m2=pot_m2 / between_grey,
        pot_kg=pot.mass_kg,
        bath_m2=bath_m2,
        whole_contact_kg=whole_contact_kg,
        wetted_m2=bath_m2 + 4.0 * whole_contact_kg / _LIQUID_KG_M3 / bore_m,
        element_m2=wire_m2 * _ELEMENT_SEEN,
        element_j_k=wire_m2 * _WIRE_J_K_M2,
    )


class Flows(NamedTuple):
    """Constants of every step with so many points, in the shapes that numpy reckons with in half the time.

    A number is an array without a dimension; what each layer has of its own stands spread out over the points, (5, N).
    """

    brick_w_m_k: Floats
    brick_w_m_k2: Floats
    film_k_w: Floats
    pot_kg: Floats
    leak_w_k4: Floats
    leak_w_k: Floats
    radiates_w_k4: Floats  # the element
    radiates_4_w_k4: float  # four times as much
    inner_per_m: Floats  # without that of the hot side's layer, (4, N)
    outer_per_m: Floats
    brick_j_k: Floats
    brick_j_k2: Floats


def flows(of: Geometry, count: int) -> Flows:
    """Take them from a furnace's constants, for so many points."""
    radiates_w_k4 = STEFAN_BOLTZMANN * of.element_m2
    return Flows(
        brick_w_m_k=np.array(of.brick_w_m_k),
        brick_w_m_k2=np.array(of.brick_w_m_k2),
        film_k_w=np.array(of.film_k_w),
        pot_kg=np.array(of.pot_kg),
        leak_w_k4=np.array(of.leak_m2 * STEFAN_BOLTZMANN),
        leak_w_k=np.array(of.leak_w_k),
        radiates_w_k4=np.array(radiates_w_k4),
        radiates_4_w_k4=4.0 * radiates_w_k4,
        inner_per_m=of.inner_per_m[1:].repeat(count, axis=1),
        outer_per_m=of.outer_per_m.repeat(count, axis=1),
        brick_j_k=of.brick_j_k.repeat(count, axis=1),
        brick_j_k2=of.brick_j_k2.repeat(count, axis=1),
    )


def least_time_constant_s(of: Geometry, top_c: float) -> float:
    """The shortest time constant of lining and pot at a temperature, s: what explicit steps must stay below."""
    radiates_w_m2_k = 4.0 * STEFAN_BOLTZMANN * (top_c + KELVIN) ** 3
    conductivity_w_m_k = of.brick_w_m_k + of.brick_w_m_k2 * top_c
    links_w_k = conductivity_w_m_k / (of.outer_per_m[:-1, 0] + of.inner_per_m[1:, 0])
    layers_w_k = np.append(links_w_k, 0.0) + np.insert(links_w_k, 0, 0.0)
    layers_w_k[0] += (of.wall_to_pot_m2 + of.opening_m2 + 0.25 * of.element_m2) * radiates_w_m2_k
    layers_s = (of.brick_j_k + of.brick_j_k2 * top_c)[:, 0] / layers_w_k
    pot_w_k = of.wall_to_pot_m2 * radiates_w_m2_k + LIQUID_W_M2_K * of.wetted_m2
    return min(float(layers_s.min()), of.pot_kg * 1000.0 / pot_w_k)


def _area_m2(wall: Wall, depth_m: Floats) -> Floats:
    return wall.inside_m2 + (wall.outside_m2 - wall.inside_m2) * depth_m / wall.thickness_m


def _per_m(wall: Wall, from_m: Floats, to_m: Floats) -> Floats:
    """Integral of dx / A through pieces of layers, 1/m: trapezoid, as areas change little in one."""
    return ((to_m - from_m) * (1.0 / _area_m2(wall, from_m) + 1.0 / _area_m2(wall, to_m)) / 2.0)[:, None]
