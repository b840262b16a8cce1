"""The furnace as the supervisor believes it to be: eleven quantities, and eighteen factors to be learned.

Lining in five layers with the lid folded in, pot, element, sheath of the thermocouple, metal in two lumps. Geometry,
masses and data-sheet curves come from the furnace file and stay; what differs from furnace to furnace is learned as
logarithmic factors on them. Everything goes for N points at once, so that a filter or a fit costs one call.
"""

from math import ceil
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.reckoning import ROOM_C
from supervisor.metal.enthalpy import enthalpy_j_kg
from supervisor.model import geometry as g
from supervisor.model import lumps
from supervisor.model.melting import Melting

Floats = NDArray[np.float64]

LAYERS = len(g.LAYER_SHARES)
POT, SHEATH, ELEMENT, WETTED, LOWER, UPPER = range(LAYERS, LAYERS + 6)
_METAL = ("wetted", "lower_j_kg", "upper_j_kg")
STATES = (*(f"wall_{n}_c" for n in range(1, LAYERS + 1)), "pot_c", "sheath_c", "element_c", *_METAL)
"""Rows of a state, hot side first. Heats are over that at 20 °C; the lower lump of metal touches the pot, and wets
it, 0 to 1, some time after it has molten."""

PRIORS = {
    "power": 0.10,  # share of the power that the ordered duty gives; where it is metered, less
    "loss": 0.30,  # conductivity of the lining
    "capacity": 0.30,  # heat capacity of the lining
    "leak": 0.40,  # lid seam, element tails, sensor hole
    "lid_loss": 0.60,  # through the opening while the lid is off
    "wall_to_pot": 0.25,
    "element_to_pot": 0.25,  # share of the element's heat that goes straight to the pot
    "sensor_wall": 0.60,  # how much of each the sensor sees, against what it sees of the pot
    "sensor_element": 0.50,
    "sensor_stem": 0.50,
    "sheath": 0.50,  # its heat capacity
    "pot_capacity": 0.15,  # the pot was weighed; what stands round it was not
    "facing": 0.30,  # weight and conductivity of the hot face's layers over the rest: coats, dense brick in front
    "contact_solid": 0.50,  # pot to metal
    "contact_liquid": 0.50,
    "contact_between": 0.50,  # the two lumps of metal
    "contact_fill": 0.70,  # the exponent by which contact grows with the metal's mass
    "wetting": 0.70,  # how long molten metal takes to wet the pot
}
"""Every factor's name, and the standard deviation of its logarithm before anything is learned (our choice, kept wide
enough for a furnace of another build)."""

FACTORS = tuple(PRIORS)
CONSIDERED = ("contact_solid", "contact_liquid", "contact_between", "contact_fill", "wetting")
"""Those that a filter reckons with and never learns: in one firing nothing tells them from the metal's mass."""

_METERED_POWER_SD = 0.03  # a meter's class, and what the leads lose


def prior_sd(*, metered: bool) -> dict[str, float]:
    """Each factor's standard deviation before anything is learned, as a logarithm; the power's is less if metered."""
    return {**PRIORS, "power": _METERED_POWER_SD} if metered else dict(PRIORS)


LOWER_SHARE = lumps.LOWER_SHARE
"""Of the metal's mass: the lower lump."""

_POT_FILM_K3 = 15.0 / g.STEFAN_BOLTZMANN  # air between, and the pedestal: W/m²/K
_POT_J_KG_K, _POT_J_KG_K2 = 800.0, 0.65  # clay-graphite, from memory
_ELEMENT_TO_POT = 0.35
_MOST_TO_POT = 0.9
_OPENING_SEES, _OPENING_FILM_W_M2_K = 0.7, 18.0
_CONTACT = slice(FACTORS.index("contact_solid"), None)  # how the metal touches: see `lumps.contact_of`
_FACING = np.array([[1.0], [1.0], [0.0], [0.0], [0.0]])  # layers of the hot face

_SEES = np.log(np.array([[0.52], [0.08], [0.03]]) / 0.37)  # wall, element, stem, over pot
_STEM_LAYER = 3
_SHEATH_J_M2_K, _SHEATH_EMISSIVITY, _SHEATH_FILM_W_M2_K = 4900.0, 0.8, 12.0  # 4.5 mm of steel

SOAK_SD = 0.25
"""Standard deviation of what `likely_soak` says (our choice)."""

_LONGEST_STEP_S = 2.5
_MOST_STEPS = 500  # in which a belief may ask to be stepped: beyond them its factors are no furnace's
_BEYOND_TOP_C = 150.0


def likely_soak(reading_c: float) -> float:
    """How much a warm lining falls towards its outer face, give or take SOAK_SD: see `Reduced.settled`.

    A furnace that is still hot stood at a hold not long ago; a lukewarm one has had hours to even out.
    """
    return 0.3 + 0.5 * min(1.0, max(0.0, (reading_c - ROOM_C) / 830.0))


class _Call(NamedTuple):
    """What stays the same during one call: the factors put to use, each (N,) or (rows, N)."""

    supplied_w: Floats
    links_w_k: Floats
    outward_w_k: Floats
    leak: Floats
    lid_loss: Floats
    wall_to_pot: Floats
    to_pot: Floats
    sees: Floats
    sheath_k_m2_per_j: Floats
    k_per_j: Floats
    pot_k_per_j: Floats


class Reduced:
    """The model of one furnace. States are (len(STATES), N), log factors (len(FACTORS), N), in those orders."""

    def __init__(self, furnace: FurnaceDescription) -> None:
        self._metered = furnace.pulses_per_kwh is not None
        self._of = g.geometry(furnace)
        self._stable_s = 0.6 * g.least_time_constant_s(self._of, furnace.top_c + _BEYOND_TOP_C)

    def prior(self) -> tuple[Floats, Floats]:
        """Centre and standard deviation of the log factors before anything is learned, each (F,)."""
        return np.zeros(len(FACTORS)), np.array(list(prior_sd(metered=self._metered).values()))

    def settled(self, reading_c: float, count: int, soak: float | Floats | None = None) -> Floats:
        """A furnace that has stood for a while and reads reading_c, (S, N).

        Of a warm lining nobody knows the profile: it is taken to fall towards its outer face by the share `soak` of
        what the reading is over the room. 0 is warm throughout, 0.8 the profile of a long hold; None: as is likely.
        """
        soak = likely_soak(reading_c) if soak is None else soak
        x = np.full((len(STATES), count), float(reading_c))
        x[:LAYERS] -= (reading_c - ROOM_C) * self._of.depth * soak
        x[WETTED] = 0.0
        x[LOWER:] = enthalpy_j_kg(reading_c)
        return x

    def step(
        self,
        x: Floats,
        factors: Floats,
        *,
        power_w: float | Floats,
        lid_open: bool,
        mass_kg: float | Floats,
        metal: Melting | None,
        dt_s: float,
        longest_s: float = _LONGEST_STEP_S,
    ) -> Floats:
        """Go on by dt_s with constant power; the new state, (S, N).

        power_w is what the element gets, power_w and mass_kg a number or (N,). Explicit, in equal steps of longest_s at
        most, shorter where the furnace's own time constants ask for it. metal None: the pot is empty.

        Raises:
            ArithmeticError: the factors have run away: no cycle may wait for so many steps.
        """
        f = np.exp(factors)
        stable_s = self._stable_s / _stiffer(f, factors)
        if not dt_s <= _MOST_STEPS * stable_s or not np.isfinite(factors).all():
            raise ArithmeticError(f"{dt_s:g} s would take steps of {stable_s:g} s")
        count = ceil(dt_s / min(longest_s, stable_s) - 1e-9)
        step_s = dt_s / count
        x = x.copy()
        call = self._call(x, f, factors, power_w)
        contact = None if metal is None else lumps.contact_of(self._of, f[_CONTACT], mass_kg, step_s)
        for _ in range(count):
            self._advance(x, call, lid_open, contact, metal, step_s)
        return x

    def _call(self, x: Floats, f: Floats, factors: Floats, power_w: float | Floats) -> _Call:
        of = self._of
        power, loss, capacity, leak, lid_loss, wall_to_pot, to_pot = f[:7]
        facing = np.exp(_FACING * factors[12])
        k_m = (of.brick_w_m_k + of.brick_w_m_k2 * x[:LAYERS]) * (loss * facing)
        half_k_w = of.outer_per_m / k_m
        links_w_k = 1.0 / (half_k_w[:-1] + of.inner_per_m[1:] / k_m[1:])
        seen = np.exp(_SEES + factors[7:10])
        return _Call(
            supplied_w=power * power_w,
            links_w_k=links_w_k,
            outward_w_k=1.0 / (half_k_w[-1] + of.film_k_w),
            leak=leak,
            lid_loss=lid_loss,
            wall_to_pot=wall_to_pot * of.wall_to_pot_m2 * g.STEFAN_BOLTZMANN,
            to_pot=np.minimum(to_pot * _ELEMENT_TO_POT, _MOST_TO_POT),
            sees=seen / (1.0 + seen.sum(axis=0)),
            sheath_k_m2_per_j=1.0 / (_SHEATH_J_M2_K * f[10]),
            k_per_j=1.0 / ((of.brick_j_k + of.brick_j_k2 * x[:LAYERS]) * (capacity * facing)),
            pot_k_per_j=1.0 / (of.pot_kg * (_POT_J_KG_K + _POT_J_KG_K2 * x[POT]) * f[11]),
        )

    def _advance(
        self,
        x: Floats,
        call: _Call,
        lid_open: bool,
        contact: lumps.Contact | None,
        metal: Melting | None,
        step_s: float,
    ) -> None:
        """One explicit step, in place. Each flow is taken from one body and given to another, or to the room."""
        of = self._of
        fourth = (x[: ELEMENT + 1] + g.KELVIN) ** 2
        fourth *= fourth
        to_wall_w, to_pot_w = self._from_element(x, call, fourth, step_s)
        wall_c, pot_c, wall4, pot4 = x[0], x[POT], fourth[0], fourth[POT]
        wall_to_pot_w = call.wall_to_pot * (wall4 - pot4 + _POT_FILM_K3 * (wall_c - pot_c))
        over4, over_k = wall4 - _ROOM4, wall_c - ROOM_C
        to_wall_w -= wall_to_pot_w + call.leak * (of.leak_m2 * g.STEFAN_BOLTZMANN * over4 + of.leak_w_k * over_k)
        to_pot_w += wall_to_pot_w
        if lid_open:
            sees = _OPENING_SEES * g.STEFAN_BOLTZMANN
            to_wall_w -= call.lid_loss * of.opening_m2 * (sees * over4 + _OPENING_FILM_W_M2_K * over_k)
            to_pot_w -= call.lid_loss * (of.bath_m2 * g.STEFAN_BOLTZMANN) * (pot4 - _ROOM4)
        if contact is not None and metal is not None:
            above4 = _ROOM4 if lid_open else wall4
            from_pot_w, from_wall_w = lumps.take_up(x[LOWER:], x[WETTED], contact, metal, pot_c, above4)
            to_pot_w -= from_pot_w
            if not lid_open:
                to_wall_w -= from_wall_w
        warms_w_m2 = self._sheath_takes(x, call, fourth[SHEATH])
        inward_w = np.empty((LAYERS, x.shape[1]))
        inward_w[0] = to_wall_w
        inward_w[1:] = flows_w = call.links_w_k * (x[: LAYERS - 1] - x[1:LAYERS])
        inward_w[:-1] -= flows_w
        inward_w[-1] -= call.outward_w_k * (x[LAYERS - 1] - ROOM_C)
        inward_w *= call.k_per_j
        inward_w *= step_s
        x[:LAYERS] += inward_w
        x[POT] += to_pot_w * call.pot_k_per_j * step_s
        x[SHEATH] += warms_w_m2 * call.sheath_k_m2_per_j * step_s

    def _from_element(self, x: Floats, call: _Call, fourth: Floats, step_s: float) -> tuple[Floats, Floats]:
        """Let the element warm, in place; what it gives to wall and pot, W.

        Exact for the linearised element: its time constant of a few seconds may be shorter than a step.
        """
        radiates = g.STEFAN_BOLTZMANN * self._of.element_m2
        element4, wall4 = fourth[ELEMENT], fourth[0]
        pot4_over_wall4 = fourth[POT] - wall4
        net_w = call.supplied_w - radiates * (element4 - wall4 - call.to_pot * pot4_over_wall4)
        steps = (4.0 * radiates * step_s / self._of.element_j_k) * element4 / (x[ELEMENT] + g.KELVIN)
        kept_w = net_w * (1.0 - np.exp(-steps)) / steps
        given_w = call.supplied_w - kept_w
        x[ELEMENT] += kept_w * (step_s / self._of.element_j_k)
        to_wall_w = (1.0 - call.to_pot) * (given_w + radiates * call.to_pot * pot4_over_wall4)
        return to_wall_w, given_w - to_wall_w

    def _sheath_takes(self, x: Floats, call: _Call, sheath4: Floats) -> Floats:
        """What the thermocouple's sheath takes up from a mixture of what it sees, W/m²."""
        pot_c, (wall, element, stem) = x[POT], call.sees
        around_c = pot_c + wall * (x[0] - pot_c) + element * (x[ELEMENT] - pot_c) + stem * (x[_STEM_LAYER] - pot_c)
        around4 = (around_c + g.KELVIN) ** 2
        around4 *= around4
        radiated: Floats = (_SHEATH_EMISSIVITY * g.STEFAN_BOLTZMANN) * (around4 - sheath4)
        radiated += _SHEATH_FILM_W_M2_K * (around_c - x[SHEATH])
        return radiated

    def reading_c(self, x: Floats, factors: Floats) -> Floats:
        """What the thermocouple shows, °C, (N,)."""
        shown: Floats = x[SHEATH]
        return shown

    def heat_j_kg(self, x: Floats) -> Floats:
        """Mean heat of the metal over that at 20 °C, J/kg, (N,)."""
        return lumps.by_mass(x[LOWER:])

    def metal_c(self, x: Floats, metal: Melting) -> Floats:
        """Mean temperature of the metal by mass, °C, (N,)."""
        return lumps.by_mass(metal.temperature_c(x[LOWER:]))

    def coldest_c(self, x: Floats, metal: Melting) -> Floats:
        """Temperature of the coldest part of the metal, °C, (N,)."""
        lower_c, upper_c = metal.temperature_c(x[LOWER:])
        coldest_c: Floats = np.minimum(lower_c, upper_c)
        return coldest_c

    def share_molten(self, x: Floats, metal: Melting) -> Floats:
        """Share of the metal that is molten, 0 to 1, (N,)."""
        return lumps.by_mass(metal.share_molten(x[LOWER:]))

    def add(
        self, x: Floats, mass_before: float | Floats, mass_added: float | Floats, at_c: float, metal: Melting
    ) -> Floats:
        """Put metal at at_c into the pot, masses in kg; the new state. Heats mix, and what lies above sinks."""
        x = x.copy()
        lumps.mix(x[LOWER:], x[WETTED], mass_before, mass_added, float(metal.enthalpy_j_kg(at_c)))
        return x


def _stiffer(f: Floats, factors: Floats) -> float:
    """How much shorter the shortest time constant of hot face or pot is than by the furnace file, at least 1."""
    loss, capacity, wall_to_pot, to_pot = f[1], f[2], f[5], f[6]
    facing = np.exp(_FACING * factors[12])
    exchange = np.maximum(wall_to_pot, 1.0)
    hot_face = np.maximum(loss * facing, exchange) / (capacity * facing)
    pot = np.maximum(exchange, to_pot) / f[11]
    return max(1.0, float(hot_face.max()), float(pot.max()))


_ROOM4 = (ROOM_C + g.KELVIN) ** 4
