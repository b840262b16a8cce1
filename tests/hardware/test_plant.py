"""The simulated furnace as its host meets it: steps in, states out."""

from collections.abc import Callable
from itertools import pairwise
from math import nan

import pytest

from hardware.ports import Plant, PlantState
from hardware.simulated.plant import Bench, FurnacePlant, Workshop
from tests.hardware.plant_runs import run

Make = Callable[..., FurnacePlant]
each_furnace = pytest.mark.parametrize("make", [Bench, Workshop])


def rows(furnace: Plant) -> list[PlantState]:
    furnace.add_charge(1.0, 20.0, "6060")
    return [furnace.step(0.25, element_on=i % 8 < 5, lid_open=i > 700, mains_factor=1.0) for i in range(1200)]


@each_furnace
def test_same_seed_same_rows(make: Make) -> None:
    assert rows(make(seed=7)) == rows(make(seed=7))
    assert rows(make(seed=7, spread=0.2)) == rows(make(seed=7, spread=0.2))


@each_furnace
def test_another_seed_other_noise_and_mains(make: Make) -> None:
    one, other = rows(make(seed=7)), rows(make(seed=8))
    assert one[0].hot_junction_c != other[0].hot_junction_c
    assert one[0].power_w != other[0].power_w


def test_each_furnace_names_its_file() -> None:
    assert (Bench(seed=1).furnace_file, Workshop(seed=1).furnace_file) == ("bench", "workshop")


@each_furnace
def test_heating_is_monotone_and_starts_late_at_the_reading(make: Make) -> None:
    furnace = make(seed=1)
    faces, readings = [], []
    for _ in range(20):
        state = run(furnace, 15.0)
        faces.append(state.hot_face_c)
        readings.append(state.hot_junction_c)
    assert faces == sorted(faces)
    assert readings[0] < 25.0  # a cold sheath radiates badly
    assert readings[3:] == sorted(readings[3:])
    assert readings[-1] > 150.0


@each_furnace
def test_nothing_outgrows_the_hottest_when_the_power_is_off(make: Make) -> None:
    # Second law: heat does not go by itself from the colder to the hotter (Clausius).
    furnace = make(seed=1, start_c=800.0)
    furnace.add_charge(1.0, 20.0, "6082")
    for _ in range(120):
        state = run(furnace, 15.0, on=False)
        assert 20.0 < state.metal_coldest_c <= state.metal_mean_c <= state.metal_hottest_c < 800.0
        assert state.hot_face_c < 800.0


@each_furnace
def test_power_follows_ohm_and_the_mains(make: Make) -> None:
    powers = [run(make(seed=5), 0.25, mains_factor=factor).power_w for factor in (1.0, 0.9, 0.0)]
    assert powers[1] / powers[0] == pytest.approx(0.81)
    assert powers[2] == 0.0
    assert run(make(seed=5), 0.25, on=False).power_w == 0.0


def test_mains_wander_slowly_around_nominal() -> None:
    # Constant dt, 20 seeds x 1 h: mean within 1 %, and never more than a small step between seconds.
    means = []
    for seed in range(20):
        furnace = Bench(seed=seed, start_c=700.0)
        powers = [run(furnace, 1.0).power_w for _ in range(60)]
        assert max(abs(b / a - 1.0) for a, b in pairwise(powers)) < 0.01
        means.append(sum(powers) / len(powers))
    assert sum(means) / len(means) == pytest.approx(230.0**2 / 20.0 / 1.025, rel=0.02)


@each_furnace
def test_open_lid_cools_the_wall_most_and_the_metal_least(make: Make) -> None:
    furnace = make(seed=1, start_c=740.0)
    furnace.add_charge(2.0, 740.0, "6061")
    before = run(furnace, 60.0, on=False)
    after = run(furnace, 60.0, on=False, lid_open=True)
    face, reading, metal = (
        before.hot_face_c - after.hot_face_c,
        before.hot_junction_c - after.hot_junction_c,
        before.metal_mean_c - after.metal_mean_c,
    )
    assert face > reading > metal > 0.0


def test_a_long_step_is_made_of_short_ones() -> None:
    once, often = Bench(seed=1), Bench(seed=1)
    once.add_charge(1.0, 20.0, "1100")
    often.add_charge(1.0, 20.0, "1100")
    for _ in range(60):
        a = once.step(60.0, element_on=True, lid_open=False, mains_factor=1.0)
        for _ in range(120):
            b = often.step(0.5, element_on=True, lid_open=False, mains_factor=1.0)
    assert a.supplied_j == pytest.approx(b.supplied_j)
    assert a.metal_mean_c == pytest.approx(b.metal_mean_c)


def test_the_step_is_short_enough() -> None:
    # Halving the step may not change what the furnace does.
    fine, coarse = Bench(seed=1, start_c=600.0), Bench(seed=1, start_c=600.0)
    for furnace, dt_s in ((fine, 0.125), (coarse, 0.5)):
        furnace.add_charge(1.0, 500.0, "6082")
        for _ in range(int(1200 / dt_s)):
            furnace.step(dt_s, element_on=True, lid_open=False, mains_factor=1.0)
    assert fine.state.hot_face_c == pytest.approx(coarse.state.hot_face_c, abs=1.0)
    assert fine.state.metal_mean_c == pytest.approx(coarse.state.metal_mean_c, abs=1.0)


@each_furnace
def test_cold_junction_warms_slowly_with_the_furnace(make: Make) -> None:
    furnace = make(seed=1, start_c=700.0)
    first = furnace.state.cold_junction_c
    last = run(furnace, 1800.0).cold_junction_c
    assert 20.0 < first < last < 50.0


def test_noise_is_white_and_of_the_stated_size() -> None:
    furnace = Bench(seed=2)
    readings = [run(furnace, 0.25, on=False).hot_junction_c - 20.0 for _ in range(4000)]
    mean = sum(readings) / len(readings)
    variance = sum((r - mean) ** 2 for r in readings) / len(readings)
    lagged = sum((a - mean) * (b - mean) for a, b in pairwise(readings)) / len(readings)
    assert mean == pytest.approx(0.0, abs=0.03)
    assert variance**0.5 == pytest.approx(0.3, rel=0.05)
    assert abs(lagged / variance) < 0.05


def test_spread_makes_other_furnaces_of_the_same_kind() -> None:
    rises = [run(Bench(seed=seed, spread=0.2), 300.0).hot_junction_c for seed in range(12)]
    nominal = run(Bench(seed=0), 300.0).hot_junction_c
    assert max(rises) - min(rises) > 0.1 * nominal
    assert all(0.5 * nominal < rise < 1.6 * nominal for rise in rises)


@each_furnace
def test_warm_start_is_warm_throughout(make: Make) -> None:
    state = make(seed=1, start_c=500.0).state
    assert (state.hot_junction_c, state.hot_face_c, state.metal_mean_c) == (500.0, 500.0, 500.0)
    assert state.stored_j > 1e6
    assert (state.supplied_j, state.lost_j, state.metal_kg, state.share_molten) == (0.0, 0.0, 0.0, 0.0)


@pytest.mark.parametrize("dt_s", [0.0, -1.0, nan, 7200.0])
def test_impossible_step_is_refused(dt_s: float) -> None:
    with pytest.raises(ValueError, match="dt_s is"):
        Bench(seed=1).step(dt_s, element_on=True, lid_open=False, mains_factor=1.0)


@pytest.mark.parametrize("mains_factor", [-0.1, 2.1, nan])
def test_impossible_mains_are_refused(mains_factor: float) -> None:
    with pytest.raises(ValueError, match="mains_factor is"):
        Bench(seed=1).step(0.25, element_on=True, lid_open=False, mains_factor=mains_factor)


@pytest.mark.parametrize(
    ("field", "value"), [("spread", -0.1), ("spread", nan), ("start_c", -5.0), ("start_c", 2000.0)]
)
def test_impossible_furnace_is_refused(field: str, value: float) -> None:
    with pytest.raises(ValueError, match=f"{field} is"):
        Bench(seed=1, **{field: value})
