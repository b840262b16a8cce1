"""The metal in the pot as two lumps: one that touches the pot, one that lies on it. Arrays of N points throughout."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from supervisor.model import geometry as g
from supervisor.model.melting import Melting

Floats = NDArray[np.float64]

LOWER_SHARE = 0.6
"""Of the metal's mass: what touches the pot."""

_UPPER_SHARE = 1.0 - LOWER_SHARE
_COLD_LOWER_SHARE = 0.3  # of what is added: most of it lies on top
_FILL_POWER = 0.3  # between pieces that lie where they fall and a liquid that wets the pot as high as it stands
_WETTING_S = 30.0  # our choice: oxide skins break, pieces sink together
_METAL_J_KG_K = 1100.0
_BATH_KG = 0.1  # less does not cover the pot's floor
_LEAST_KG = 1e-3

# Arrays without a dimension, as in `reduced`: numpy takes them in half the time of a float.
_NONE, _ONE, _KELVIN = map(np.array, (0.0, 1.0, g.KELVIN))
_OF_LOWER, _OF_UPPER, _OF_BOTH = map(np.array, (LOWER_SHARE, _UPPER_SHARE, LOWER_SHARE * _UPPER_SHARE))
_SOLID_W_M2_K, _SOLID_BETWEEN_W_M2_K = map(np.array, (g.SOLID_W_M2_K, g.SOLID_BETWEEN_W_M2_K))
_LIQUID_W_M2_K, _LIQUID_BETWEEN_W_M2_K = map(np.array, (g.LIQUID_W_M2_K, g.LIQUID_BETWEEN_W_M2_K))


class Contact(NamedTuple):
    """Contact of the metal with what is round it during steps of one length, each (N,)."""

    solid_w_k: Floats  # pot to lower lump
    wets_w_k: Floats  # more when the pot is wetted
    solid_between_w_k: Floats  # lower to upper lump
    mixes_w_k: Floats
    most_w_k: Floats  # what explicit steps bear when there is next to no metal
    most_between_w_k: Floats
    above_w_k4: Floats  # upper lump to what is above it
    s_per_kg: Floats
    wets_share: Floats  # of what is not yet wetted, in a step


def contact_of(of: g.Geometry, factors: Floats, mass_kg: float | Floats, step_s: float) -> Contact:
    """Contact of so much metal. factors (5, N): solid, liquid, between, exponent of the fill, time of wetting."""
    solid, liquid, between, fill, wetting = factors[0], factors[1], factors[2], factors[3], factors[4]
    mass_kg = np.maximum(mass_kg, _LEAST_KG)
    touches_m2 = of.wetted_m2 * (mass_kg / of.whole_contact_kg) ** (_FILL_POWER * fill)
    solid_w_k = solid * touches_m2 * _SOLID_W_M2_K
    solid_between_w_k = between * touches_m2 * _SOLID_BETWEEN_W_M2_K
    half_evened_w_k = mass_kg * (_METAL_J_KG_K / 2.0 / step_s)  # half of a difference evened out in one step
    return Contact(
        solid_w_k=solid_w_k,
        wets_w_k=liquid * touches_m2 * _LIQUID_W_M2_K - solid_w_k,
        solid_between_w_k=solid_between_w_k,
        mixes_w_k=between * touches_m2 * _LIQUID_BETWEEN_W_M2_K - solid_between_w_k,
        most_w_k=_OF_LOWER * half_evened_w_k,
        most_between_w_k=_OF_BOTH * half_evened_w_k,
        above_w_k4=np.minimum(mass_kg / _BATH_KG, _ONE) * (of.bath_m2 * g.BATH_EMISSIVITY * g.STEFAN_BOLTZMANN),
        s_per_kg=step_s / mass_kg,
        wets_share=_ONE - np.exp(-step_s / (_WETTING_S * wetting)),
    )


def take_up(
    heats_j_kg: Floats, wetted: Floats, contact: Contact, metal: Melting, pot_c: Floats, above4: Floats | float
) -> tuple[Floats, Floats]:
    """Let both lumps take up heat for one step, in place; what the pot and what is above give, W.

    heats_j_kg (2, N): lower, upper. wetted (N,): how far the pot is wetted, 0 to 1. above4: K⁴ of what is above.
    """
    lumps_c, lower_j_kg, upper_j_kg = metal.temperature_c(heats_j_kg), heats_j_kg[0], heats_j_kg[1]
    lower_c, upper_c = lumps_c[0], lumps_c[1]
    by = np.minimum(np.maximum(wetted, _NONE), _ONE)  # a filter's points may lie beside
    wetted += (metal.share_molten(lower_j_kg) - wetted) * contact.wets_share
    from_pot_w = np.minimum(contact.solid_w_k + contact.wets_w_k * by, contact.most_w_k) * (pot_c - lower_c)
    between_w_k = np.minimum(contact.solid_between_w_k + contact.mixes_w_k * by, contact.most_between_w_k)
    upward_w = between_w_k * (lower_c - upper_c)
    from_above_w = contact.above_w_k4 * (above4 - (upper_c + _KELVIN) ** 4)
    lower_j_kg += (from_pot_w - upward_w) * contact.s_per_kg / _OF_LOWER
    upper_j_kg += (from_above_w + upward_w) * contact.s_per_kg / _OF_UPPER
    return from_pot_w, from_above_w


def mix(
    heats_j_kg: Floats, wetted: Floats, before_kg: float | Floats, added_kg: float | Floats, added_j_kg: float
) -> None:
    """Put metal in, in place: heats mix, and as much of the old upper lump sinks as the lower one lacks."""
    whole_kg = before_kg + added_kg
    to_lower_kg = LOWER_SHARE * added_kg
    new_kg = np.maximum(_COLD_LOWER_SHARE * added_kg, to_lower_kg - _UPPER_SHARE * before_kg)
    sinks_kg = to_lower_kg - new_kg
    lower_j = LOWER_SHARE * before_kg * heats_j_kg[0] + sinks_kg * heats_j_kg[1] + new_kg * added_j_kg
    upper_j = (_UPPER_SHARE * before_kg - sinks_kg) * heats_j_kg[1] + (added_kg - new_kg) * added_j_kg
    wetted *= before_kg / whole_kg
    heats_j_kg[0] = lower_j / (LOWER_SHARE * whole_kg)
    heats_j_kg[1] = upper_j / (_UPPER_SHARE * whole_kg)


def by_mass(of_each: Floats) -> Floats:
    """Mean by mass of what the lower and the upper lump have, (2, N) to (N,)."""
    mean: Floats = LOWER_SHARE * of_each[0] + _UPPER_SHARE * of_each[1]
    return mean
