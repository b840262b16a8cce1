"""The furnaces of another make: energy is conserved, the seam is kept, and a rehearsal runs on each of them."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from hardware.ports import Plant
from hardware.simulated.faults import FAULTS
from hardware.simulated.furnace import Furnace
from hardware.simulated.plant import Bench
from supervisor.cli import main
from supervisor.furnace.file import read_furnace
from supervisor.metal.alloys import alloy
from tests.plants.furnace import DISTURBANCES, StrangeFurnace
from tests.plants.metal import ALLOYS, Curve
from tests.plants.response import measured
from tests.plants.roof import RoofableBench
from tests.plants.strong import StrongFurnace
from tests.plants.unseen import UnseenFurnace
from tests.plants.weak import WeakFurnace
from tests.supervisor.profile_text import WARM

Make = Callable[..., StrangeFurnace]
MAKES: list[Make] = [WeakFurnace, StrongFurnace, UnseenFurnace]
each = pytest.mark.parametrize("make", MAKES)


def hold(furnace: Plant, seconds: float, top_c: float, *, lid_open: bool = False) -> None:
    for _ in range(int(seconds * 2)):
        furnace.step(0.5, element_on=furnace.state.hot_junction_c < top_c, lid_open=lid_open, mains_factor=1.0)


def gap_share(furnace: StrangeFurnace) -> float:
    s = furnace.state
    return (s.stored_j + s.lost_j - s.supplied_j - furnace.brought_j) / s.supplied_j


@each
@pytest.mark.parametrize("spread", [0.0, 0.2])
def test_what_was_supplied_is_stored_or_lost(make: Make, spread: float) -> None:
    # First law of thermodynamics, over melt, open lid, addition, leak, steam, pour and cooling.
    furnace = make(seed=3, spread=spread)
    full_kg = read_furnace(furnace.furnace_file).crucible.capacity_kg
    furnace.disturb("wet_lining_kg", 0.1)
    furnace.add_charge(0.6 * full_kg, 20.0, furnace.alloy)
    hold(furnace, 4800.0, 780.0)
    assert abs(gap_share(furnace)) < 1e-3
    hold(furnace, 45.0, 0.0, lid_open=True)
    furnace.add_charge(0.3 * full_kg, 120.0, "6061")
    furnace.disturb("leak_w_per_k", 0.3)
    hold(furnace, 3000.0, 780.0)
    assert abs(gap_share(furnace)) < 1e-3
    assert furnace.state.share_molten == 1.0
    assert furnace.pour() == pytest.approx(0.9 * full_kg)
    hold(furnace, 3000.0, 0.0)
    assert abs(gap_share(furnace)) < 1e-3
    assert furnace.state.lost_j > 0.3 * furnace.state.supplied_j


@each
def test_half_frozen_metal_pours_in_part_and_the_ledger_still_closes(make: Make) -> None:
    furnace = make(seed=3)
    full_kg = read_furnace(furnace.furnace_file).crucible.capacity_kg
    furnace.add_charge(full_kg, 20.0, furnace.alloy)
    while furnace.state.share_molten < 0.5:
        hold(furnace, 10.0, 850.0)
    poured_kg = furnace.pour()
    assert poured_kg == pytest.approx(0.5 * full_kg, rel=0.1)
    assert furnace.state.metal_kg == pytest.approx(full_kg - poured_kg)
    hold(furnace, 60.0, 850.0)
    assert abs(gap_share(furnace)) < 1e-3


@each
def test_same_seed_same_rows(make: Make) -> None:
    def rows() -> list[tuple[float, ...]]:
        furnace = make(seed=7, spread=0.2)
        furnace.add_charge(0.5, 20.0, furnace.alloy)
        return [tuple(furnace.step(0.25, element_on=i % 8 < 5, lid_open=i > 300, mains_factor=1.0)) for i in range(400)]

    assert rows() == rows()


@each
def test_nothing_outgrows_the_hottest_when_the_power_is_off(make: Make) -> None:
    # Second law: heat does not go by itself from the colder to the hotter (Clausius).
    furnace = make(seed=1, start_c=800.0)
    furnace.add_charge(0.5, 20.0, furnace.alloy)
    for _ in range(60):
        hold(furnace, 15.0, 0.0)
        state = furnace.state
        assert 20.0 < state.metal_coldest_c <= state.metal_mean_c + 1e-9
        assert state.metal_mean_c - 1e-9 <= state.metal_hottest_c < 800.0
        assert state.hot_face_c < 800.0


@each
def test_the_file_says_how_the_plant_answers(make: Make) -> None:
    furnace = make(seed=1)
    said = read_furnace(furnace.furnace_file)
    pour = alloy(furnace.alloy)
    found = measured(make, pour.pour_low_c + 30.0, 830.0)
    assert found.slope_c_per_s == pytest.approx(said.response.slope_c_per_s, rel=0.1)
    assert found.dead_time_s == pytest.approx(said.response.dead_time_s, rel=0.15)
    assert found.fastest_rise_c_per_s == pytest.approx(said.response.fastest_rise_c_per_s, rel=0.1)
    assert found.fastest_fall_c_per_s == pytest.approx(said.response.fastest_fall_c_per_s, rel=0.15)


@each
def test_every_fault_of_the_bench_can_enter_and_leave(make: Make) -> None:
    plant = make(seed=1)
    furnace = Furnace(plant, read_furnace(plant.furnace_file).wiring, seed=1, limiter_c=900.0)
    for name in FAULTS:
        furnace.inject(name)
        furnace.step()
        furnace.mend(name)
    for name in DISTURBANCES:
        with pytest.raises(ValueError, match=name):
            plant.disturb(name, -99.0)
    with pytest.raises(KeyError, match="sensor_slip"):
        plant.disturb("nonsense", 1.0)


@each
def test_a_hung_up_charge_melts_below_and_stays_cold_above(make: Make) -> None:
    plain, hung = make(seed=1), make(seed=1)
    hung.disturb("hung_up", 0.9)
    for furnace in (plain, hung):
        furnace.add_charge(1.0, 20.0, furnace.alloy)
        hold(furnace, 1200.0, 800.0)
    assert hung.state.metal_coldest_c < plain.state.metal_coldest_c - 20.0


def test_the_bench_that_can_hang_up_is_the_bench_until_it_does() -> None:
    bench, roofable, hung = Bench(seed=4, spread=0.2), RoofableBench(4, 0.2), RoofableBench(4, 0.2)
    hung.disturb("hung_up", 0.85)
    for furnace in (bench, roofable, hung):
        furnace.add_charge(1.5, 20.0, "6061")
        hold(furnace, 1500.0, 800.0)
    assert roofable.state == pytest.approx(tuple(bench.state))
    assert hung.state.metal_coldest_c < bench.state.metal_coldest_c - 50.0
    with pytest.raises(ValueError, match="hung_up"):
        hung.disturb("hung_up", 2.0)


@pytest.mark.parametrize("name", ALLOYS)
def test_enthalpy_there_and_back(name: str) -> None:
    metal = ALLOYS[name]
    curve = Curve(metal)
    for share in (0.0, 0.1, 0.5, 0.9, 1.0):
        j_kg = curve.at(metal.solidus_c, 0.0) + share * 5e5
        temperature_c, molten = curve.temperature_and_molten(j_kg)
        assert curve.at(temperature_c, molten) == pytest.approx(j_kg, rel=2e-3)
    assert curve.temperature_and_molten(curve.enthalpy_j_kg(300.0))[0] == pytest.approx(300.0, abs=0.5)


def test_the_lever_rule_by_hand() -> None:
    # Lines from (0 %, 660.3 °C): at the middle between solidus and liquidus of A356.0, 585 °C, the liquid is
    # (660.3 - 585) / m and the solid k times as rich, with k = (660.3 - 615) / (660.3 - 555) = 0.430.
    # Share molten = (C0 - Cs) / (Cl - Cs) with C0 = 45.3 / m, Cl = 75.3 / m, Cs = 0.430 * 75.3 / m: 0.3012.
    curve = Curve(ALLOYS["A356.0"])
    assert curve.temperature_and_molten(curve.at(585.0, 0.3012))[1] == pytest.approx(0.3012, abs=2e-3)


@each
def test_a_rehearsal_runs_on_it(make: Make, tmp_path: Path) -> None:
    (tmp_path / "warm.toml").write_text(WARM, encoding="utf-8")
    plant = make(seed=1)
    named = f"{make.__module__}:{make.__name__}"
    given = ["rehearse", str(tmp_path / "warm.toml"), "--furnace", plant.furnace_file, "--plant", named, "--json"]
    result = CliRunner().invoke(main, given)
    assert result.exit_code == 0, result.output
    assert json.loads(result.output)["state"] == "complete"
