"""What can be done to the simulated furnace on purpose."""

from math import nan

import pytest

from hardware.simulated.plant import DISTURBANCES, Bench
from tests.hardware.plant_runs import run


@pytest.fixture
def furnace() -> Bench:
    return Bench(seed=1, start_c=700.0)


def test_aged_element_gives_less_power(furnace: Bench) -> None:
    healthy_w = run(furnace, 0.25).power_w
    furnace.disturb("element_resistance_factor", 1.25)
    assert run(furnace, 0.25).power_w == pytest.approx(healthy_w / 1.25, rel=0.01)


def test_broken_element_gives_none_until_mended(furnace: Bench) -> None:
    furnace.disturb("element_broken", 1.0)
    assert run(furnace, 0.25).power_w == 0.0
    furnace.disturb("element_broken", 0.0)
    assert run(furnace, 0.25).power_w > 2000.0


def test_wire_parts_at_its_melting_point() -> None:
    furnace = Bench(seed=1, start_c=900.0)
    furnace.disturb("element_resistance_factor", 0.2)  # a short between turns
    assert run(furnace, 600.0).power_w == 0.0
    furnace.disturb("element_resistance_factor", 1.0)
    assert run(furnace, 1.0).power_w == 0.0


def test_slipped_sensor_falls_fast_and_comes_back_when_mended(furnace: Bench) -> None:
    before = run(furnace, 60.0)
    furnace.disturb("sensor_slip", 0.5)
    after = run(furnace, 120.0)
    assert after.hot_junction_c < before.hot_junction_c - 200.0
    assert after.hot_face_c > before.hot_face_c
    furnace.disturb("sensor_slip", 0.0)
    assert run(furnace, 300.0).hot_junction_c > before.hot_junction_c


def test_creeping_sensor_loses_its_share_slowly(furnace: Bench) -> None:
    whole = Bench(seed=1, start_c=700.0)
    furnace.disturb("sensor_slip_per_s", 1.0 / 1200.0)
    gaps = [run(whole, 120.0).hot_junction_c - run(furnace, 120.0).hot_junction_c for _ in range(3)]
    assert 20.0 < gaps[0] < gaps[1] < gaps[2] < 0.4 * 900.0
    furnace.disturb("sensor_slip_per_s", 0.0)
    still = run(furnace, 120.0, on=False).hot_junction_c
    assert still < run(whole, 120.0, on=False).hot_junction_c - 0.7 * gaps[2]


def test_drifting_sensor_walks_off_by_kelvins(furnace: Bench) -> None:
    true = Bench(seed=1, start_c=700.0)
    furnace.disturb("sensor_drift_c_per_s", -2.0 / 60.0)
    gap = run(furnace, 300.0).hot_junction_c - run(true, 300.0).hot_junction_c
    assert gap == pytest.approx(-10.0)
    furnace.disturb("sensor_drift_c_per_s", 0.0)
    assert run(furnace, 1.0).hot_junction_c == run(true, 1.0).hot_junction_c


def test_leak_takes_its_watts(furnace: Bench) -> None:
    tight = Bench(seed=1, start_c=700.0)
    furnace.disturb("leak_w_per_k", 2.0)
    leaky_j, tight_j = run(furnace, 60.0, on=False).lost_j, run(tight, 60.0, on=False).lost_j
    assert 0.7 * 2.0 * 680.0 * 60.0 < leaky_j - tight_j < 2.0 * 680.0 * 60.0


def test_wet_lining_holds_the_furnace_back_until_it_is_dry() -> None:
    wet, dry = Bench(seed=1), Bench(seed=1)
    wet.disturb("wet_lining_kg", 1.0)
    left_kg = [1.0]
    for _ in range(6):
        assert run(wet, 300.0).hot_face_c < run(dry, 300.0).hot_face_c
        left_kg.append(wet.water_kg)
    assert left_kg == sorted(left_kg, reverse=True)
    assert left_kg[-1] < 0.8
    wet.disturb("wet_lining_kg", 0.0)
    assert wet.water_kg == 0.0


def test_wet_lining_dries_through_in_a_long_hold() -> None:
    furnace = Bench(seed=1)
    furnace.disturb("wet_lining_kg", 0.3)
    for _ in range(12 * 3600):
        furnace.step(1.0, element_on=furnace.state.hot_junction_c < 340.0, lid_open=False, mains_factor=1.0)
        if not furnace.water_kg:
            break
    assert furnace.water_kg == 0.0


def test_wet_lining_costs_the_heat_of_its_steam() -> None:
    furnace = Bench(seed=1, start_c=300.0)
    stored_j = furnace.state.stored_j
    furnace.disturb("wet_lining_kg", 0.2)
    run(furnace, 1.0, on=False)
    # 0.2 kg x (4.19 kJ/kg/K x 80 K + 2257 kJ/kg). Steam tables, from memory.
    assert stored_j - furnace.state.stored_j == pytest.approx(0.2 * 2.592e6, rel=0.02)


def test_unknown_name_is_refused_and_names_the_known(furnace: Bench) -> None:
    with pytest.raises(KeyError, match="sensor_slip"):
        furnace.disturb("gremlin", 1.0)


@pytest.mark.parametrize("name", DISTURBANCES)
def test_value_out_of_range_is_refused(furnace: Bench, name: str) -> None:
    for value in (nan, DISTURBANCES[name][1] + 1.0, DISTURBANCES[name][0] - 1.0):
        with pytest.raises(ValueError, match=f"{name} is"):
            furnace.disturb(name, value)
