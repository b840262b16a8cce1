"""What differs from furnace to furnace: eighteen factors to be learned, as logarithms, and how they are put to use."""

from math import isfinite
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from supervisor.model import geometry as g

Floats = NDArray[np.float64]

LAYERS = len(g.LAYER_SHARES)

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


# Arrays without a dimension, as in `reduced`: numpy takes them in half the time of a float.
_ONE, _STEFAN_BOLTZMANN = map(np.array, (1.0, g.STEFAN_BOLTZMANN))
_ELEMENT_TO_POT = np.array(0.35)
_MOST_TO_POT = np.array(0.9)
_CONTACT = slice(FACTORS.index("contact_solid"), None)  # how the metal touches: see `lumps.contact_of`
_HOT_FACE = 2  # layers of it
_SEES = np.log(np.array([[0.52], [0.08], [0.03]]) / 0.37)  # wall, element, stem, over pot
_SHEATH_J_M2_K = np.array(4900.0)  # 4.5 mm of steel


class Applied(NamedTuple):
    """Log factors put to use: what stays the same as long as they do, (N,) or (rows, N)."""

    stiffer: float  # how much shorter its shortest time constant is than by the furnace file, at least 1
    power: Floats
    loss: Floats  # of each layer
    capacity: Floats
    leak: Floats
    lid_loss: Floats
    wall_to_pot: Floats
    to_pot: Floats
    not_to_pot: Floats
    sees: Floats
    sheath_k_m2_per_j: Floats
    pot_capacity: Floats
    contact: Floats


def apply(of: g.Geometry, factors: Floats) -> Applied:
    """Put log factors (F, N) of one furnace to use.

    Raises:
        ArithmeticError: the factors have run away, and are no numbers any more.
    """
    if not isfinite(np.add.reduce(factors, axis=None)):
        raise ArithmeticError("factors that are no numbers")
    f = np.exp(factors)
    of_layers = f[1:3, None].repeat(LAYERS, axis=1)  # loss and capacity
    of_layers[:, :_HOT_FACE] *= f[12]
    seen = np.exp(_SEES + factors[7:10])
    goes_to_pot = np.minimum(f[6] * _ELEMENT_TO_POT, _MOST_TO_POT)
    return Applied(
        stiffer=_stiffer(f, of_layers),
        power=f[0],
        loss=of_layers[0],
        capacity=of_layers[1],
        leak=f[3],
        lid_loss=f[4],
        wall_to_pot=f[5] * of.wall_to_pot_m2 * _STEFAN_BOLTZMANN,
        to_pot=goes_to_pot,
        not_to_pot=_ONE - goes_to_pot,
        sees=seen / (_ONE + np.add.reduce(seen, axis=0)),
        sheath_k_m2_per_j=_ONE / (_SHEATH_J_M2_K * f[10]),
        pot_capacity=f[11],
        contact=f[_CONTACT],
    )


def _stiffer(f: Floats, of_layers: Floats) -> float:
    """How much shorter the shortest time constant of hot face or pot is than by the furnace file, at least 1.

    of_layers: factors of loss and capacity, (2, LAYERS, N).
    """
    exchange = np.maximum(f[5], _ONE)
    faces = of_layers[:, _HOT_FACE - 1 : _HOT_FACE + 1]  # of the hot face's layers one, and one of the rest
    stiffest = np.maximum.reduce(np.maximum(faces[0], exchange) / faces[1], axis=None)
    pot = np.maximum.reduce(np.maximum(exchange, f[6]) / f[11])
    return max(1.0, float(stiffest), float(pot))
