"""How long metal may stay liquid in a furnace that is no longer heated: the latest that can be believed.

Everything stands on the slow side at once: the crucible full, the lining warmed through at the hottest moment, lid
shut, and every factor that slows the cooling where its uncertainty ends. Reckoned once, as a supervisor begins.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from supervisor.furnace.description import FurnaceDescription
from supervisor.metal.charge import Charge
from supervisor.model.learned import Model
from supervisor.model.melting import melting
from supervisor.model.outset import factors_of
from supervisor.model.reduced import FACTORS, WETTED, Reduced

HOTTEST_C = (550.0, 650.0, 750.0, 850.0, 950.0, 1050.0)
"""Temperatures that it is reckoned from; between them it is the next higher one's."""

LOWEST_SOLIDUS_C, HIGHEST_LIQUIDUS_C = 477.0, 660.3
"""Of everything that may have gone into a pot: the lowest solidus of the alloy table, and pure aluminium."""

LEARNED_SD, PRIOR_SD = 2.0, 1.0
"""How far each factor is moved to the slow side. All of them at once is less likely by far than one of them."""

_SLOWER = {
    "loss": -1.0, "capacity": 1.0, "leak": -1.0, "wall_to_pot": -1.0, "pot_capacity": 1.0, "facing": 1.0,
    "contact_solid": -1.0, "contact_liquid": -1.0, "contact_between": -1.0,
}  # fmt: skip
_SOAK = 0.6  # warmer throughout than after a long hold
_SOLID_SHARE = 0.005
_STEP_S = 60.0
_LONGEST_S = 48.0 * 3600.0


class SlowestCooling(NamedTuple):
    """Seconds from the end of heat to the latest moment at which metal can be liquid, by the hottest temperature."""

    hottest_c: tuple[float, ...]
    solid_after_s: tuple[float, ...]

    def after_s(self, hottest_c: float) -> float:
        """The latest, s, for a chamber that was nowhere hotter than hottest_c; beyond the table, or NaN: for ever."""
        for at_c, after_s in zip(self.hottest_c, self.solid_after_s, strict=True):
            if hottest_c <= at_c:
                return after_s
        return float("inf")


def slowest_cooling(furnace: FurnaceDescription, model: Model | None) -> SlowestCooling:
    """Reckon it for a full pot of unknown metal. model: what was learned of this furnace, if anything was."""
    reduced = Reduced(furnace)
    centre, covariance = factors_of(reduced, model)
    away = np.sqrt(np.diag(covariance)) * (PRIOR_SD if model is None else LEARNED_SD)
    slow = centre + away * np.array([_SLOWER.get(name, 0.0) for name in FACTORS])
    metal = melting(Charge(furnace.crucible.capacity_kg, "unknown", "", LOWEST_SOLIDUS_C, HIGHEST_LIQUIDUS_C))
    count = len(HOTTEST_C)
    by = reduced.applied(np.repeat(slow[:, None], count, axis=1))
    x = np.concatenate([reduced.settled(at_c, 1, _SOAK) for at_c in HOTTEST_C], axis=1)
    x[-2:] = metal.enthalpy_j_kg(np.array(HOTTEST_C))
    x[WETTED] = 1.0
    solid_at_s: NDArray[np.float64] = np.full(count, np.inf)
    at_s = 0.0
    while at_s < _LONGEST_S and not np.isfinite(solid_at_s).all():
        x = reduced.step(
            x,
            by,
            power_w=0.0,
            lid_open=False,
            mass_kg=furnace.crucible.capacity_kg,
            metal=metal,
            dt_s=_STEP_S,
            longest_s=10.0,
        )
        at_s += _STEP_S
        solid = reduced.share_molten(x, metal) <= _SOLID_SHARE
        solid_at_s[solid & ~np.isfinite(solid_at_s)] = at_s
    return SlowestCooling(HOTTEST_C, tuple(float(each) for each in np.maximum.accumulate(solid_at_s)))
