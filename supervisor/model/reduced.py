"""The furnace as the supervisor believes it to be: eleven quantities, and the eighteen factors of `factors`.

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
from supervisor.model.factors import CONSIDERED, FACTORS, LAYERS, PRIORS, Applied, apply, prior_sd
from supervisor.model.melting import Melting

Floats = NDArray[np.float64]

POT, SHEATH, ELEMENT, WETTED, LOWER, UPPER = range(LAYERS, LAYERS + 6)
_METAL = ("wetted", "lower_j_kg", "upper_j_kg")
STATES = (*(f"wall_{n}_c" for n in range(1, LAYERS + 1)), "pot_c", "sheath_c", "element_c", *_METAL)
"""Rows of a state, hot side first. Heats are over that at 20 °C; the lower lump of metal touches the pot, and wets
it, 0 to 1, some time after it has molten."""

LOWER_SHARE = lumps.LOWER_SHARE
"""Of the metal's mass: the lower lump."""

# Numbers that every step reckons with, as arrays without a dimension: numpy takes those in half the time of a float.
_ONE, _KELVIN, _ROOM_C, _ROOM4 = map(np.array, (1.0, g.KELVIN, ROOM_C, (ROOM_C + g.KELVIN) ** 4))
_POT_FILM_K3 = np.array(15.0 / g.STEFAN_BOLTZMANN)  # air between, and the pedestal: W/m²/K
_POT_J_KG_K, _POT_J_KG_K2 = np.array(800.0), np.array(0.65)  # clay-graphite, from memory
_SHEATH_W_M2_K4, _SHEATH_FILM_W_M2_K = np.array(0.8 * g.STEFAN_BOLTZMANN), np.array(12.0)  # emissivity of steel

_OPENING_SEES, _OPENING_FILM_W_M2_K = 0.7, 18.0
_STEM_LAYER = 3

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
    """What stays the same during one call."""

    applied: Applied
    flows: g.Flows
    supplied_w: Floats
    links_w_k: Floats
    outward_w_k: Floats
    k_per_j: Floats
    pot_k_per_j: Floats
    step_s: Floats  # ()
    element_steps: Floats  # (), K³: how much of the element's time constant a step is, over its temperature's cube
    element_k_per_w: Floats  # (): what a step with so much power makes of it


class Reduced:
    """The model of one furnace. States are (len(STATES), N), log factors (len(FACTORS), N), in those orders."""

    def __init__(self, furnace: FurnaceDescription) -> None:
        self._metered = furnace.pulses_per_kwh is not None
        self._of = g.geometry(furnace)
        self._flows: dict[int, g.Flows] = {}  # by the number of points
        self._stable_s = 0.6 * g.least_time_constant_s(self._of, furnace.top_c + _BEYOND_TOP_C)
        self._touched: tuple[Applied, float | Floats, float, lumps.Contact] | None = None

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

    def applied(self, factors: Floats) -> Applied:
        """Put log factors to use, for whoever steps with the same ones again and again: takes a third of a step.

        Raises:
            ArithmeticError: the factors have run away, and are no numbers any more.
        """
        return apply(self._of, factors)

    def step(
        self,
        x: Floats,
        factors: Floats | Applied,
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
        by = factors if isinstance(factors, Applied) else self.applied(factors)
        stable_s = self._stable_s / by.stiffer
        if not dt_s <= _MOST_STEPS * stable_s:
            raise ArithmeticError(f"{dt_s:g} s would take steps of {stable_s:g} s")
        count = ceil(dt_s / min(longest_s, stable_s) - 1e-9)
        step_s = dt_s / count
        x = x.copy()
        call = self._call(x, by, power_w, step_s)
        contact = None if metal is None else self._contact(by, mass_kg, step_s)
        for _ in range(count):
            self._advance(x, call, lid_open, contact, metal)
        return x

    def _contact(self, by: Applied, mass_kg: float | Floats, step_s: float) -> lumps.Contact:
        """Contact of the metal: as at the step before, where factors and mass are the very same."""
        kept = self._touched
        if kept is None or kept[0] is not by or kept[1] is not mass_kg or kept[2] != step_s:
            kept = self._touched = (by, mass_kg, step_s, lumps.contact_of(self._of, by.contact, mass_kg, step_s))
        return kept[3]

    def _call(self, x: Floats, by: Applied, power_w: float | Floats, step_s: float) -> _Call:
        flows = self._flows.get(x.shape[1])
        if flows is None:
            flows = self._flows[x.shape[1]] = g.flows(self._of, x.shape[1])
        layers_c, element_j_k = x[:LAYERS], self._of.element_j_k
        k_m = (flows.brick_w_m_k + flows.brick_w_m_k2 * layers_c) * by.loss
        half_k_w = flows.outer_per_m / k_m
        return _Call(
            by,
            flows,
            by.power * power_w,
            _ONE / (half_k_w[:-1] + flows.inner_per_m / k_m[1:]),
            _ONE / (half_k_w[-1] + flows.film_k_w),
            _ONE / ((flows.brick_j_k + flows.brick_j_k2 * layers_c) * by.capacity),
            _ONE / (flows.pot_kg * (_POT_J_KG_K + _POT_J_KG_K2 * x[POT]) * by.pot_capacity),
            np.array(step_s),
            np.array(flows.radiates_4_w_k4 * step_s / element_j_k),
            np.array(step_s / element_j_k),
        )

    def _advance(
        self,
        x: Floats,
        call: _Call,
        lid_open: bool,
        contact: lumps.Contact | None,
        metal: Melting | None,
    ) -> None:
        """One explicit step, in place. Each flow is taken from one body and given to another, or to the room."""
        of, flows, by = self._of, call.flows, call.applied
        kelvin = x[: ELEMENT + 1] + _KELVIN
        fourth = kelvin * kelvin
        fourth *= fourth
        wall_c, pot_c, wall4, pot4 = x[0], x[POT], fourth[0], fourth[POT]
        wall_over_pot_k = wall_c - pot_c
        to_wall_w, to_pot_w = _from_element(x[ELEMENT], call, kelvin[ELEMENT], fourth)
        wall_to_pot_w = by.wall_to_pot * (wall4 - pot4 + _POT_FILM_K3 * wall_over_pot_k)
        over4, over_k = wall4 - _ROOM4, wall_c - _ROOM_C
        to_wall_w -= wall_to_pot_w + by.leak * (flows.leak_w_k4 * over4 + flows.leak_w_k * over_k)
        to_pot_w += wall_to_pot_w
        if lid_open:
            sees = _OPENING_SEES * g.STEFAN_BOLTZMANN
            to_wall_w -= by.lid_loss * of.opening_m2 * (sees * over4 + _OPENING_FILM_W_M2_K * over_k)
            to_pot_w -= by.lid_loss * (of.bath_m2 * g.STEFAN_BOLTZMANN) * (pot4 - _ROOM4)
        if contact is not None and metal is not None:
            above4 = _ROOM4 if lid_open else wall4
            from_pot_w, from_wall_w = lumps.take_up(x[LOWER:], x[WETTED], contact, metal, pot_c, above4)
            to_pot_w -= from_pot_w
            if not lid_open:
                to_wall_w -= from_wall_w
        warms_w_m2 = _sheath_takes(x, by, wall_over_pot_k, fourth[SHEATH])
        inward_w = np.empty((LAYERS, x.shape[1]))
        inward_w[0] = to_wall_w
        inward_w[1:] = flows_w = call.links_w_k * (x[: LAYERS - 1] - x[1:LAYERS])
        inward_w[:-1] -= flows_w
        inward_w[-1] -= call.outward_w_k * (x[LAYERS - 1] - _ROOM_C)
        inward_w *= call.k_per_j
        inward_w *= call.step_s
        x[:LAYERS] += inward_w
        to_pot_w *= call.pot_k_per_j
        to_pot_w *= call.step_s
        pot_c += to_pot_w
        warms_w_m2 *= by.sheath_k_m2_per_j
        warms_w_m2 *= call.step_s
        x[SHEATH] += warms_w_m2

    def reading_c(self, x: Floats) -> Floats:
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


def _from_element(element_c: Floats, call: _Call, element_k: Floats, fourth: Floats) -> tuple[Floats, Floats]:
    """Let the element warm, in place; what it gives to wall and pot, W.

    Exact for the linearised element: its time constant of a few seconds may be shorter than a step.
    """
    by, radiates = call.applied, call.flows.radiates_w_k4
    element4, wall4 = fourth[ELEMENT], fourth[0]
    pot4_over_wall4 = fourth[POT] - wall4
    net_w = call.supplied_w - radiates * (element4 - wall4 - by.to_pot * pot4_over_wall4)
    steps = call.element_steps * element4 / element_k
    kept_w = net_w * (_ONE - np.exp(-steps)) / steps
    given_w = call.supplied_w - kept_w
    element_c += kept_w * call.element_k_per_w
    to_wall_w = by.not_to_pot * (given_w + radiates * by.to_pot * pot4_over_wall4)
    given_w -= to_wall_w
    return to_wall_w, given_w


def _sheath_takes(x: Floats, by: Applied, wall_over_pot_k: Floats, sheath4: Floats) -> Floats:
    """What the thermocouple's sheath takes up from a mixture of what it sees, W/m²."""
    pot_c, sees = x[POT], by.sees
    around_c = pot_c + sees[0] * wall_over_pot_k
    around_c += sees[1] * (x[ELEMENT] - pot_c)
    around_c += sees[2] * (x[_STEM_LAYER] - pot_c)
    around4: Floats = around_c + _KELVIN
    around4 *= around4
    around4 *= around4
    around4 -= sheath4
    around4 *= _SHEATH_W_M2_K4
    around_c -= x[SHEATH]
    around_c *= _SHEATH_FILM_W_M2_K
    around4 += around_c
    return around4


__all__ = [
    "CONSIDERED",
    "ELEMENT",
    "FACTORS",
    "LAYERS",
    "LOWER",
    "LOWER_SHARE",
    "POT",
    "PRIORS",
    "SHEATH",
    "SOAK_SD",
    "STATES",
    "UPPER",
    "WETTED",
    "Reduced",
    "likely_soak",
    "prior_sd",
]
