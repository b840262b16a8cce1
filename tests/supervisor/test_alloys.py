"""The table of alloys and the charge that is made from it."""

import pytest

from supervisor.metal.alloys import alloy, charge, table
from supervisor.metal.charge import Charge
from supervisor.refusal import InputRefused


@pytest.mark.parametrize(
    ("name", "solidus_f", "liquidus_f"),
    [("1100", 1190, 1215), ("2024", 935, 1180), ("5052", 1125, 1200), ("6061", 1080, 1205), ("7075", 890, 1175)],
)
def test_wrought_melting_ranges_are_those_of_the_aluminum_association(
    name: str, solidus_f: float, liquidus_f: float
) -> None:
    # Aluminum Association, Aluminum Standards and Data, typical physical properties, approximate melting range in °F
    # (from memory).
    assert alloy(name).solidus_c == pytest.approx((solidus_f - 32) / 1.8, abs=0.6)
    assert alloy(name).liquidus_c == pytest.approx((liquidus_f - 32) / 1.8, abs=0.6)


@pytest.mark.parametrize(
    ("name", "solidus_c", "liquidus_c"),
    [("360.0", 557, 596), ("380.0", 540, 595), ("A380.0", 540, 595), ("383.0", 516, 582), ("413.0", 574, 582)],
)
def test_die_casting_melting_ranges_are_those_of_nadca(name: str, solidus_c: float, liquidus_c: float) -> None:
    # NADCA Product Specification Standards for Die Castings (2012), table A-3-2, melting range.
    assert (alloy(name).solidus_c, alloy(name).liquidus_c) == (solidus_c, liquidus_c)


@pytest.mark.parametrize("name", table())
def test_every_alloy_melts_below_pure_aluminium_is_poured_liquid_and_says_who_says_so(name: str) -> None:
    row = alloy(name)
    # Pure aluminium: 660.323 °C, ITS-90 fixed point (Preston-Thomas, Metrologia 27 (1990) 3).
    assert 450 < row.solidus_c < row.liquidus_c < 660.323
    assert row.liquidus_c + 40 < row.pour_low_c < row.pour_high_c < 800
    assert row.kind in ("wrought", "cast")
    assert row.melting_source
    assert row.pour_source


@pytest.mark.parametrize("name", ["6082", "EN AW-6082", "en aw 6082", "AW-6082", " 6082 "])
def test_an_alloy_is_found_under_its_european_name_too(name: str) -> None:
    assert alloy(name) is table()["6082"]


def test_lower_case_finds_cast_alloys() -> None:
    assert alloy("a356.0").name == "A356.0"


def test_a_charge_carries_what_the_table_knows() -> None:
    assert charge(2.0, "EN AW-6082", "off-cuts") == Charge(2.0, "6082", "off-cuts", 585.0, 650.0)


def test_unknown_metal_has_neither_solidus_nor_liquidus() -> None:
    assert charge(1.0, "Unknown", "castings") == Charge(1.0, "unknown", "castings", None, None)


@pytest.mark.parametrize("name", ["6O82", "", "steel", "unknown"])
def test_what_is_not_in_the_table_is_refused_with_what_is(name: str) -> None:
    with pytest.raises(InputRefused, match=r"^alloy is '.*'; allowed: 1100, 2011, .*, 535\.0$"):
        alloy(name)


@pytest.mark.parametrize("mass_kg", [0.0, -1.0, float("nan"), float("inf")])
def test_a_mass_that_cannot_be_is_refused(mass_kg: float) -> None:
    with pytest.raises(InputRefused, match=r"^charge: mass_kg is .*; allowed: above 0 kg$"):
        charge(mass_kg, "6082", "off-cuts")
