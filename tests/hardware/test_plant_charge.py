"""Metal in the simulated pot: melting, additions, pouring."""

from math import nan

import pytest

from hardware.simulated.plant import Bench
from hardware.simulated.plant_alloys import enthalpy_of, melting_range
from tests.hardware.plant_runs import run

ALLOYS = ["1100", "6060", "6061", "6063", "6082", "A356.0", "unknown", "aluminium"]


@pytest.mark.parametrize("alloy", ALLOYS)
def test_enthalpy_there_and_back(alloy: str) -> None:
    table = enthalpy_of(melting_range(alloy))
    for temperature_c in (-20.0, 20.0, 300.0, 550.0, 590.0, 630.0, 645.0, 700.0, 900.0):
        back_c, _ = table.temperature_and_molten(table.enthalpy_j_kg(temperature_c))
        assert back_c == pytest.approx(temperature_c, abs=0.5)


@pytest.mark.parametrize("alloy", ALLOYS)
def test_molten_share_goes_from_none_to_all_over_the_freezing_range(alloy: str) -> None:
    melts = melting_range(alloy)
    table = enthalpy_of(melts)
    lowest, highest = table.enthalpy_j_kg(melts.solidus_c - 2.0), table.enthalpy_j_kg(melts.liquidus_c + 2.0)
    temperatures, shares = zip(
        *(table.temperature_and_molten(lowest + (highest - lowest) * i / 500) for i in range(501)), strict=True
    )
    assert list(temperatures) == sorted(temperatures)
    assert list(shares) == sorted(shares)
    assert shares[0] == pytest.approx(0.0, abs=0.01)
    assert shares[-1] == pytest.approx(1.0)
    assert highest - lowest > 390e3  # the latent heat is in it


def test_melting_holds_the_metal_back() -> None:
    furnace = Bench(seed=1)
    furnace.add_charge(2.0, 20.0, "6082")
    rates: dict[str, list[float]] = {}
    while furnace.state.metal_coldest_c < 720.0:
        before = furnace.state
        run(furnace, 60.0, on=True)
        molten = "solid" if before.share_molten == 0.0 else "liquid" if before.share_molten == 1.0 else "melting"
        rates.setdefault(molten, []).append(furnace.state.metal_mean_c - before.metal_mean_c)
    mean = {phase: sum(found) / len(found) for phase, found in rates.items()}
    assert mean["melting"] < mean["solid"]
    assert mean["melting"] < mean["liquid"]


def test_cold_addition_cools_and_freezes() -> None:
    furnace = Bench(seed=1, start_c=740.0)
    furnace.add_charge(1.0, 700.0, "6061")
    assert furnace.state.share_molten == 1.0
    furnace.add_charge(1.0, 20.0, "6061")
    state = furnace.state
    assert state.metal_kg == 2.0
    assert state.share_molten < 0.5
    assert state.metal_coldest_c < state.metal_hottest_c
    run(furnace, 1800.0, on=True)
    assert furnace.state.share_molten == 1.0


def test_mixed_alloys_melt_between_the_two() -> None:
    # At 640 °C 1100 is solid (solidus 643) and A356.0 liquid (liquidus 615): the mixture is neither.
    shares = []
    for first, second in (("1100", "A356.0"), ("A356.0", "1100")):
        furnace = Bench(seed=1, start_c=640.0)
        furnace.add_charge(1.0, 640.0, first)
        shares.append(furnace.state.share_molten)
        furnace.add_charge(1.0, 640.0, second)
        assert 0.2 < furnace.state.share_molten < 0.8
        assert furnace.state.metal_mean_c < 640.0  # melting at the solid's cost
    assert shares == [0.0, 1.0]


def test_pour_takes_all_liquid_and_its_heat() -> None:
    furnace = Bench(seed=1, start_c=740.0)
    furnace.add_charge(2.0, 740.0, "6082")
    before = furnace.state
    assert furnace.pour() == pytest.approx(2.0)
    after = furnace.state
    assert after.metal_kg == 0.0
    assert after.share_molten == 0.0
    assert after.lost_j - before.lost_j == pytest.approx(furnace.brought_j - after.stored_j)
    assert furnace.pour() == 0.0


def test_pour_leaves_what_is_solid() -> None:
    furnace = Bench(seed=1, start_c=640.0)
    furnace.add_charge(2.0, 640.0, "A356.0")
    furnace.add_charge(1.0, 20.0, "A356.0")
    share = furnace.state.share_molten
    assert 0.1 < share < 0.9
    assert furnace.pour() == pytest.approx(3.0 * share)
    assert furnace.state.share_molten == pytest.approx(0.0, abs=0.01)
    assert furnace.state.metal_kg == pytest.approx(3.0 * (1.0 - share))
    assert furnace.pour() == pytest.approx(0.0, abs=0.02)


def test_solid_metal_does_not_pour() -> None:
    furnace = Bench(seed=1)
    furnace.add_charge(1.0, 20.0, "6082")
    assert furnace.pour() == 0.0
    assert furnace.state.metal_kg == 1.0


@pytest.mark.parametrize(("mass_kg", "temperature_c"), [(0.0, 20.0), (-1.0, 20.0), (nan, 20.0), (1.0, nan), (1.0, 2e3)])
def test_impossible_charge_is_refused(mass_kg: float, temperature_c: float) -> None:
    furnace = Bench(seed=1)
    with pytest.raises(ValueError, match="allowed"):
        furnace.add_charge(mass_kg, temperature_c, "6082")
    assert furnace.state.metal_kg == 0.0


def test_unknown_alloy_names_the_known() -> None:
    furnace = Bench(seed=1)
    with pytest.raises(KeyError, match=r"'brass'.*6082.*unknown"):
        furnace.add_charge(1.0, 20.0, "brass")
    assert furnace.state.metal_kg == 0.0
