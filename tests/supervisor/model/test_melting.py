"""The metal's heat as the model has it, against published tables and the planner's own curve."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from supervisor.metal.alloys import charge, table
from supervisor.metal.charge import Charge
from supervisor.metal.enthalpy import FUSION_J_KG, MELTING_C, enthalpy_j_kg
from supervisor.model.melting import UNKNOWN_LIQUIDUS_C, UNKNOWN_SOLIDUS_C, Melting, melting, mixed

MOLAR_KG = 0.0269815384  # IUPAC standard atomic weight of aluminium
PURE = melting(Charge(1.0, "aluminium", "ingot", MELTING_C, MELTING_C))
ALLOYS = sorted(table())

# kJ/mol over the solid at 298.15 K, by kelvin. Source: NIST Chemistry WebBook, SRD 69, aluminum, condensed phase,
# Shomate equations (from M. W. Chase, NIST-JANAF Thermochemical Tables, 4th ed., J. Phys. Chem. Ref. Data,
# Monograph 9, 1998), evaluated; stated uncertainty 0.3 % solid, 1 % liquid. Constants A to E as read, F from memory.
SHOMATE_KJ_MOL = {400.0: 2.553, 600.0: 7.921, 800.0: 13.750, 900.0: 16.891, 1000.0: 30.805, 1100.0: 33.980}


def of(name: str) -> Melting:
    return melting(charge(1.0, name, "off-cuts"))


@pytest.mark.parametrize(("kelvin", "kj_mol"), SHOMATE_KJ_MOL.items())
def test_a_kilogram_of_pure_metal_holds_the_published_heat(kelvin: float, kj_mol: float) -> None:
    from_20_to_25_c_j = 897.1 * 5.0  # J/kg/K at 25 °C, the same source
    expected_j = kj_mol * 1000.0 / MOLAR_KG + from_20_to_25_c_j
    assert float(PURE.enthalpy_j_kg(kelvin - 273.15)) == pytest.approx(expected_j, rel=0.005)


def test_an_alloy_of_copper_has_the_textbook_share_left_at_the_eutectic() -> None:
    # Aluminium with 4.5 % copper solidifies by Scheil's equation from 645 °C and has 9 % of liquid left at the eutectic
    # at 548 °C. Source: M. C. Flemings, Solidification Processing, McGraw-Hill, 1974, chapter 2, from memory; one
    # partition coefficient for every alloy costs some of it.
    metal = melting(Charge(1.0, "binary", "ingot", 548.0, 645.0))
    assert float(metal.share_molten(metal.enthalpy_j_kg(551.0))) == pytest.approx(0.09, abs=0.01)


@pytest.mark.parametrize("name", ALLOYS)
def test_below_and_above_melting_it_is_the_planners_curve(name: str) -> None:
    metal = of(name)
    for at_c in (20.0, 300.0, metal.solidus_c, metal.liquidus_c + 1.0, 760.0):
        expected_j_kg = enthalpy_j_kg(at_c, metal.solidus_c, metal.liquidus_c)
        assert float(metal.enthalpy_j_kg(at_c)) == pytest.approx(expected_j_kg, rel=0.002, abs=50.0)


@given(name=st.sampled_from(ALLOYS), at_c=st.floats(0.0, 1100.0))
def test_heat_and_temperature_go_back_and_forth(name: str, at_c: float) -> None:
    metal = of(name)
    assert float(metal.temperature_c(metal.enthalpy_j_kg(at_c))) == pytest.approx(at_c, abs=1e-6)


@given(name=st.sampled_from(ALLOYS), one=st.floats(0.0, 1.3e6), other=st.floats(0.0, 1.3e6))
def test_more_heat_is_never_colder_nor_less_molten(name: str, one: float, other: float) -> None:
    metal = of(name)
    low, high = sorted((one, other))
    assert metal.temperature_c(low) <= metal.temperature_c(high)
    assert 0.0 <= metal.share_molten(low) <= metal.share_molten(high) <= 1.0


@pytest.mark.parametrize("name", ALLOYS)
def test_it_is_solid_up_to_the_solidus_and_liquid_from_the_liquidus(name: str) -> None:
    metal = of(name)
    assert float(metal.share_molten(metal.enthalpy_j_kg(metal.solidus_c))) == 0.0
    assert float(metal.share_molten(metal.enthalpy_j_kg(metal.liquidus_c + 0.1))) == pytest.approx(1.0)


def test_pure_metal_takes_its_heat_of_fusion_within_a_degree() -> None:
    taken_j_kg = float(PURE.enthalpy_j_kg(MELTING_C + 1.0)) - float(PURE.enthalpy_j_kg(MELTING_C))
    assert taken_j_kg == pytest.approx(FUSION_J_KG, rel=0.004)


def test_unknown_metal_may_melt_anywhere_in_a_wide_range() -> None:
    metal = of("unknown")
    assert (metal.solidus_c, metal.liquidus_c) == (UNKNOWN_SOLIDUS_C, UNKNOWN_LIQUIDUS_C)
    assert 0.0 < float(metal.share_molten(metal.enthalpy_j_kg(610.0))) < 1.0


def test_a_mixture_melts_between_its_parts() -> None:
    mixture = mixed(of("6082"), 1.5, of("A356.0"), 0.5)
    assert mixture.liquidus_c == pytest.approx(0.75 * 650.0 + 0.25 * 615.0)
    assert mixture.solidus_c == pytest.approx(0.75 * 585.0 + 0.25 * 555.0)
