"""The furnaces of the campaign on wrong constants: each differs in the one that it names."""

import pytest

from tests.campaigns.constants import CONSTANTS, Wrong


def test_a_furnace_that_is_not_as_described_differs_in_one_constant() -> None:
    made = {name: Wrong(1, name, 1.25) for name in CONSTANTS}
    as_described = Wrong(1)
    for plant in (*made.values(), as_described):
        plant.add_charge(1.0, 20.0, "6061")
    was = as_described.step(600.0, element_on=True, lid_open=False, mains_factor=1.0)
    now = {name: plant.step(600.0, element_on=True, lid_open=False, mains_factor=1.0) for name, plant in made.items()}
    assert was.power_w / now["element's resistance"].power_w == pytest.approx(1.25, rel=0.02)
    assert now["metal in the pot"].metal_kg == pytest.approx(1.25 * was.metal_kg)
    assert now["losses"].lost_j > 1.05 * was.lost_j
    assert now["heat stored in lining and pot"].hot_face_c < was.hot_face_c - 10.0
