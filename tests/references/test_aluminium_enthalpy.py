"""The plant's aluminium against published thermochemical tables."""

import pytest

from hardware.simulated.plant import Bench
from hardware.simulated.plant_alloys import PURE_MELTING_C, enthalpy_of, melting_range

MOLAR_KG = 0.0269815384  # IUPAC standard atomic weight of aluminium
ALUMINIUM = enthalpy_of(melting_range("aluminium"))

# kJ/mol over the solid at 298.15 K, by kelvin. Source: NIST Chemistry WebBook, SRD 69, aluminum, condensed phase,
# Shomate equations (from M. W. Chase, NIST-JANAF Thermochemical Tables, 4th ed., J. Phys. Chem. Ref. Data,
# Monograph 9, 1998), evaluated; stated uncertainty 0.3 % solid, 1 % liquid. Constants A to E as read, F from memory.
SHOMATE_KJ_MOL = {
    400.0: 2.553,
    500.0: 5.186,
    600.0: 7.921,
    700.0: 10.769,
    800.0: 13.750,
    900.0: 16.891,
    950.0: 29.218,
    1000.0: 30.805,
    1050.0: 32.393,
    1100.0: 33.980,
    1150.0: 35.568,
    1200.0: 37.156,
}

# Heat capacity, J/mol/K. Source: NIST-JANAF Thermochemical Tables, 4th ed. 1998, tables Al(cr) and Al(l): tabulated
# values, not the Shomate fit.
JANAF_CP = {
    400.0: 25.784,
    500.0: 26.842,
    600.0: 27.886,
    700.0: 29.100,
    800.0: 30.562,
    900.0: 32.308,
    1000.0: 31.751,
    1100.0: 31.751,
}


@pytest.mark.parametrize(("kelvin", "kj_mol"), SHOMATE_KJ_MOL.items())
def test_a_kilogram_brings_the_published_enthalpy(kelvin: float, kj_mol: float) -> None:
    # The way that the furnace uses it: what a charge brings in, over the furnace's 20 °C; then from there to 25 °C.
    furnace = Bench(seed=1)
    furnace.add_charge(1.0, kelvin - 273.15, "aluminium")
    from_20_to_25_c_j = 897.1 * 5.0  # J/kg/K at 25 °C, the same source
    expected_j = kj_mol * 1000.0 / MOLAR_KG + from_20_to_25_c_j
    assert furnace.brought_j == pytest.approx(expected_j, rel=0.005)
    assert furnace.state.metal_mean_c == pytest.approx(kelvin - 273.15, abs=0.2)


@pytest.mark.parametrize(("kelvin", "cp"), JANAF_CP.items())
def test_heat_capacity_is_that_of_the_tables(kelvin: float, cp: float) -> None:
    above, below = (ALUMINIUM.enthalpy_j_kg(kelvin - 273.15 + step) for step in (2.0, -2.0))
    assert (above - below) / 4.0 * MOLAR_KG == pytest.approx(cp, rel=0.005)


def test_heat_of_fusion_is_that_of_the_handbook() -> None:
    # 10.71 kJ/mol. Source: CRC Handbook of Chemistry and Physics, table "Enthalpy of Fusion"; uncertainty 1 %.
    solid_j_kg = ALUMINIUM.enthalpy_j_kg(PURE_MELTING_C)
    fusion_j_kg = ALUMINIUM.liquid_j_kg(PURE_MELTING_C) - solid_j_kg
    assert fusion_j_kg * MOLAR_KG == pytest.approx(10_710.0, rel=0.005)
    temperature_c, molten = ALUMINIUM.temperature_and_molten(solid_j_kg + fusion_j_kg / 2.0)
    assert temperature_c == pytest.approx(660.32, abs=0.1)  # freezing point of aluminium. Source: ITS-90, table 1
    assert molten == pytest.approx(0.5, abs=0.01)
