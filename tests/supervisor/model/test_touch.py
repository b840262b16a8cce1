"""When a furnace may be touched again, against the simulated furnace's own way down."""

import pytest

from hardware.simulated.plant import Bench
from supervisor.furnace.file import read_furnace
from supervisor.model.touch import TOUCH_C, cool_down

STEP_S = 1.0


@pytest.mark.parametrize(("seed", "spread"), [(1, 0.0), (2, 0.2)])
def test_the_way_down_is_never_promised_much_too_short(seed: int, spread: float) -> None:
    down, plant = cool_down(read_furnace("bench"), None), Bench(seed, spread)
    hot_s, state = 0.0, plant.step(STEP_S, element_on=True, lid_open=False, mains_factor=1.0)
    while hot_s < 1800.0:
        state = plant.step(STEP_S, element_on=state.hot_junction_c < 750.0, lid_open=False, mains_factor=1.0)
        hot_s += STEP_S * (state.hot_junction_c > 740.0)
    passed: dict[float, float] = {}
    t_s, levels = 0.0, [500.0, 300.0, 150.0, 80.0]
    while state.hot_junction_c > TOUCH_C:
        state = plant.step(STEP_S, element_on=False, lid_open=False, mains_factor=1.0)
        t_s += STEP_S
        if levels and state.hot_junction_c <= levels[0]:
            passed[levels.pop(0)] = t_s
    for level_c, at_s in passed.items():
        true_min, told_min = (t_s - at_s) / 60.0, down.left(level_c) / 60.0
        assert true_min - 20.0 <= told_min <= 1.4 * true_min, level_c
    assert down.left(TOUCH_C) == 0.0
