"""What no controller can beat: full power while the reading is below the cap, the plant's truth for the end."""

from copy import deepcopy
from typing import NamedTuple

from hardware.ports import Plant
from tests.benchmarks.standard_firings import MAINS_FALL_S, MAINS_FALL_TO

STEP_S = 0.25
LONGEST_S = 4 * 3600.0


class Bound(NamedTuple):
    """From the plant's state at the start to its coldest metal at the pouring temperature."""

    minutes: float
    kwh: float


def bound(plant: Plant, *, cap_c: float, pour_c: float, mains_factor: float, falls: bool) -> Bound | None:
    """Heat a copy of the plant. falls: the mains are 10 % under nominal from minute 15 on. None: never ready."""
    plant = deepcopy(plant)
    began_j = plant.state.supplied_j
    for step in range(round(LONGEST_S / STEP_S)):
        at_s = step * STEP_S
        state = plant.state
        if state.metal_coldest_c >= pour_c:
            return Bound(at_s / 60.0, (state.supplied_j - began_j) / 3.6e6)
        factor = MAINS_FALL_TO if falls and at_s >= MAINS_FALL_S else mains_factor
        plant.step(STEP_S, element_on=state.hot_junction_c < cap_c, lid_open=False, mains_factor=factor)
    return None
