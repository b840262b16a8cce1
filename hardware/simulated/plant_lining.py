"""Heat on its way through brick: a wall or a lid in layers, and the water that may be in it."""

from math import exp, log
from typing import NamedTuple

from hardware.simulated.plant_body import temperature_of

STEAM_J_KG = 2.592e6
"""To bring water from 20 °C to steam of 100 °C, J/kg: 4.19 kJ/kg/K x 80 K + 2257 kJ/kg (steam tables, from memory)."""

_BOILING_C = 100.0
_ROOM_VAPOUR_PA = 1170.0  # 20 °C, half saturated
_DRYING_S = 1800.0  # of a layer just below 100 °C
_DRY_KG = 1e-3  # less counts as dry
_REFRESH_S = 1.0


class Brick(NamedTuple):
    """What a brick is made of: conductivity and specific heat are a + b T, T in °C."""

    density_kg_m3: float
    conductivity_w_m_k: float
    conductivity_per_k: float
    specific_heat_j_kg_k: float
    specific_heat_per_k: float


class Slab(NamedTuple):
    """A wall cut into layers, hot side first. Its area grows evenly from inside to outside."""

    layers_m: tuple[float, ...]
    inside_m2: float
    outside_m2: float
    film_w_m2_k: float  # outer face to the room: air and radiation together


def growing_layers(thickness_m: float, first_m: float, count: int) -> tuple[float, ...]:
    """Cut a thickness into layers that grow evenly: thin where the heat comes and goes fast."""
    growth_m = 2.0 * (thickness_m / count - first_m) / (count - 1)
    return tuple(first_m + growth_m * i for i in range(count))


class Lining:
    """One slab with its temperatures, °C.

    Fourier's law between layer centres, explicit steps. The area grows evenly with depth, so the resistance from depth
    x1 to x2 is (L / (k (A1 - A0))) ln(A(x2) / A(x1)); each half layer has the conductivity of its own temperature.
    Conductivity and specific heat follow the temperature once a second of simulated time: they change by less than a
    thousandth meanwhile, and working them out costs as much as two steps. The stored energy is then counted anew from
    the temperatures, and carried on by what flows in and out until the next count.
    """

    __slots__ = (
        "_brick",
        "_conductances",
        "_film_k_w",
        "_kelvin_per_j",
        "_layers",
        "_outward_w_k",
        "_since_refresh_s",
        "_water_kg",
        "brick_kg",
        "layers_c",
        "stored_j",
    )

    def __init__(self, slab: Slab, brick: Brick, start_c: float) -> None:
        """Start dry and at one temperature throughout."""
        self._brick = brick
        self._film_k_w = 1.0 / (slab.film_w_m2_k * slab.outside_m2)
        self._layers: list[tuple[float, float, float]] = []  # integral of dx / A over both halves, 1/m; brick, kg
        growth_m2_m = (slab.outside_m2 - slab.inside_m2) / sum(slab.layers_m)
        inner_m2 = slab.inside_m2
        for layer_m in slab.layers_m:
            middle_m2 = inner_m2 + growth_m2_m * layer_m / 2.0
            outer_m2 = inner_m2 + growth_m2_m * layer_m
            half_m, brick_kg = layer_m / 2.0, brick.density_kg_m3 * middle_m2 * layer_m
            self._layers.append((_shape(inner_m2, middle_m2, half_m), _shape(middle_m2, outer_m2, half_m), brick_kg))
            inner_m2 = outer_m2
        self.brick_kg = sum(kg for _, _, kg in self._layers)
        self.layers_c = [start_c] * len(slab.layers_m)
        self._water_kg: list[float] = []  # in each layer; empty when dry
        self._refresh()

    def step(self, inflow_w: float, ambient_c: float, dt_s: float) -> float:
        """Go on by dt_s with inflow_w at the hot face's layer; the heat that leaves the outer face, W."""
        layers_c, kelvin_per_j = self.layers_c, self._kelvin_per_j
        flow_w = inflow_w
        here_c = layers_c[0]
        here = 0
        for conductance_w_k in self._conductances:
            there = here + 1
            there_c = layers_c[there]
            onward_w = (here_c - there_c) * conductance_w_k
            layers_c[here] = here_c + (flow_w - onward_w) * kelvin_per_j[here] * dt_s
            flow_w = onward_w
            here_c = there_c
            here = there
        outflow_w = (here_c - ambient_c) * self._outward_w_k
        layers_c[here] = here_c + (flow_w - outflow_w) * kelvin_per_j[here] * dt_s
        self.stored_j += (inflow_w - outflow_w) * dt_s
        self._since_refresh_s += dt_s
        if self._since_refresh_s >= _REFRESH_S:
            self._refresh()
        return outflow_w

    def _refresh(self) -> None:
        """Let conductivity and specific heat follow the temperature, and count the stored energy from it."""
        _, k0, k1, c0, c1 = self._brick
        conductances, kelvin_per_j = [], []
        stored_j = half_k_w = 0.0
        for (inner_per_m, outer_per_m, kg), layer_c in zip(self._layers, self.layers_c, strict=True):
            k = k0 + k1 * layer_c
            conductances.append(1.0 / (half_k_w + inner_per_m / k))
            half_k_w = outer_per_m / k
            warming = c1 * layer_c
            kelvin_per_j.append(1.0 / (kg * (c0 + warming)))
            stored_j += kg * (c0 + 0.5 * warming) * layer_c
        self._conductances = conductances[1:]  # between layer centres
        self._outward_w_k = 1.0 / (half_k_w + self._film_k_w)
        self._kelvin_per_j = kelvin_per_j
        self.stored_j = stored_j
        self._since_refresh_s = 0.0

    def energy_at(self, temperature_c: float) -> float:
        """Energy over 0 °C when all layers have one temperature, J."""
        _, _, _, c0, c1 = self._brick
        return self.brick_kg * (c0 + c1 / 2.0 * temperature_c) * temperature_c

    def outer_face_c(self, ambient_c: float) -> float:
        """Give the temperature of the outer face, °C."""
        return ambient_c + (self.layers_c[-1] - ambient_c) * self._outward_w_k * self._film_k_w

    @property
    def water_kg(self) -> float:
        """Water in all layers, kg."""
        return sum(self._water_kg)

    def wet(self, water_kg: float) -> None:
        """Spread so much water evenly through the brick, instead of what it held; 0 dries it."""
        share = water_kg / self.brick_kg
        self._water_kg = [share * kg for _, _, kg in self._layers] if water_kg else []

    def dry(self, dt_s: float) -> float:
        """Let wet layers steam for dt_s; the energy that leaves with the steam, J.

        Below 100 °C a layer dries in proportion to its vapour pressure above the room's; at 100 °C it stays, with all
        further heat going into steam, until it is dry. The heat of the liquid up to there is taken at the same moment.
        That steam condenses again further out is left out. The drying time is our choice.
        """
        _, _, _, c0, c1 = self._brick
        steam_j = 0.0
        for i, water_kg in enumerate(self._water_kg):
            layer_c, brick_kg = self.layers_c[i], self._layers[i][2]
            energy_j_kg = (c0 + c1 / 2.0 * layer_c) * layer_c
            if layer_c > _BOILING_C:
                beyond_j_kg = energy_j_kg - (c0 + c1 / 2.0 * _BOILING_C) * _BOILING_C
                steam_kg = min(water_kg, beyond_j_kg * brick_kg / STEAM_J_KG)
            else:
                driving = max(0.0, vapour_pressure_pa(layer_c) - _ROOM_VAPOUR_PA) / vapour_pressure_pa(_BOILING_C)
                steam_kg = water_kg * min(1.0, driving * dt_s / _DRYING_S)
            self._water_kg[i] = water_kg - steam_kg
            steam_j += steam_kg * STEAM_J_KG
            self.layers_c[i] = temperature_of(energy_j_kg - steam_kg * STEAM_J_KG / brick_kg, c0, c1)
        if self.water_kg < _DRY_KG:
            self._water_kg = []
        self._refresh()
        return steam_j


def _shape(from_m2: float, to_m2: float, thickness_m: float) -> float:
    """Integral of dx / A through a piece whose area changes evenly, 1/m."""
    if from_m2 == to_m2:
        return thickness_m / from_m2
    return thickness_m * log(to_m2 / from_m2) / (to_m2 - from_m2)


def vapour_pressure_pa(temperature_c: float) -> float:
    """Saturation vapour pressure of water, Pa. Source: Magnus formula as in WMO-No. 8 (from memory)."""
    return 611.2 * exp(17.62 * temperature_c / (243.12 + temperature_c))
