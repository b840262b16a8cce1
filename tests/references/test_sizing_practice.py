"""Common practice, no source: what people say of such furnaces, each by itself, through the command's own JSON.

None of it is a check by anybody's authority. It shows that the tool's arithmetic meets what is said, and what follows.
"""

from pathlib import Path

import pytest

from tests.sized import refused, size

NINE_OHMS = ("coil", "--alloy", "fecral-5.8", "--wire", "AWG 16", "--cold", "9 Ω", "--place", "us")


def test_nine_ohms_on_twenty_amperes() -> None:
    """Common practice, no source: an element of about 9 ohm on a 20 A, 120 V circuit. 13.33 A cold, 16 A allowed."""
    found = size(*NINE_OHMS, "--volts", "120 V", "--breaker", "20 A", "--target", "900 °C")
    assert found["cold_a"] == pytest.approx(13.33, abs=0.005)
    assert found["cold_a"] * 120.0 == pytest.approx(1600.0, abs=0.5)
    assert found["circuit"]["allowed_a"] == pytest.approx(16.0)
    assert found["cold_a"] / 20.0 == pytest.approx(0.667, abs=0.0005)
    assert found["cold_a"] / found["circuit"]["allowed_a"] == pytest.approx(0.833, abs=0.0005)
    assert found["verdict"] != "refused"
    assert found["hot_over_cold"] == pytest.approx(1.04, abs=0.002)  # the same element hot
    assert (found["hot_ohm"], found["hot_a"], found["power_w"]) == pytest.approx((9.36, 12.82, 1538.0), rel=0.003)


def test_nine_ohms_are_too_much_for_fifteen_amperes() -> None:
    """Common practice, no source: 125 % of 13.33 A are 16.7 A, more than a 15 A breaker; 12 A are allowed."""
    found = size(*NINE_OHMS, "--volts", "120 V", "--breaker", "15 A")
    assert found["verdict"] == "refused"
    assert "12.8 A hot is more than the 12 A allowed for hours" in found["remarks"][0]["words"]
    assert "NEC 210.19(A)(1)" in found["remarks"][0]["rule"]


@pytest.mark.parametrize(("volts", "amps", "watts"), [("114", 12.67, 1444.0), ("126", 14.00, 1764.0)])
def test_nine_ohms_at_the_ends_of_the_supplys_band(volts: str, amps: float, watts: float) -> None:
    """Arithmetic on the same element, cold: 114 and 126 V are 120 V -5 and +5 %."""
    found = size(*NINE_OHMS, "--volts", volts, "--breaker", "20")
    assert found["cold_a"] == pytest.approx(amps, abs=0.005)
    assert found["cold_a"] * float(volts) == pytest.approx(watts, abs=0.5)


@pytest.mark.parametrize(
    ("place", "volts", "breaker", "amps", "ohm", "watts"),
    [("us", 120, 20, 16.0, 7.5, 1920), ("us", 120, 15, 12.0, 10.0, 1440), ("uk-plug", 230, 13, 10.0, 23.0, 2300)],
)
def test_the_least_resistance_for_a_circuit(
    place: str, volts: int, breaker: int, amps: float, ohm: float, watts: int
) -> None:
    """Common practice, no source, as arithmetic: the voltage over the current that is allowed for hours."""
    found = size(
        "coil", "--alloy", "fecral-5.8", "--wire", "1.6", "--cold", f"{ohm}", "--volts", f"{volts}", "--breaker",
        f"{breaker}", "--place", place,
    )  # fmt: skip
    assert found["circuit"]["allowed_a"] == pytest.approx(amps)
    assert found["cold_a"] == pytest.approx(amps)
    assert found["cold_a"] * volts == pytest.approx(watts)


def test_what_the_relay_of_such_an_element_needs() -> None:
    """Common practice, no source: 13.3 A at 1.2 W/A in 45 °C air, base plate 80 °C: 16 W, 2.2 K/W or better."""
    from supervisor.sizing.switching import switching

    found = switching(13.3)
    assert found.ssr_loss_w == pytest.approx(16.0, abs=0.05)
    assert found.heat_sink_k_w == pytest.approx(2.2, abs=0.02)
    wiring = Path("docs/wiring.md").read_text(encoding="utf-8")
    assert f"AC-1 at least {found.contactor_ac1_a / 13.3:g} times the load" in wiring  # one page, one rule


@pytest.mark.parametrize(("share", "minutes"), [(1.0, 37), (0.6, 61), (0.4, 92), (0.25, 147)])
def test_how_long_three_kilograms_take(share: float, minutes: int) -> None:
    """Arithmetic by another script: 3 kg to 750 °C with 1600 W, of which a share goes into the metal."""
    found = size("melt", "--metal", "3 kg", "--to", "750 °C", "--power", f"{1600.0 * share} W")
    assert found["minutes_at_full_share"] == pytest.approx(minutes, abs=0.6)


def test_a_coil_for_three_rounds() -> None:
    """Common practice, no source: a coil drawn out to about 78 in for three rounds.

    26 in (660 mm) a round: 6.5 in (165 mm) a side if square, 8.28 in (210 mm) if round, 3.25 in (82.6 mm) if of eight.
    """
    found = size(
        "coil", "--wire", "AWG 16", "--alloy", "fecral-5.8", "--length", "9 m", "--outside", "10 mm", "--stretched",
        "78 in", "--rounds", "3",
    )  # fmt: skip
    assert found["coil"]["stretched_mm"] == pytest.approx(1981.0, abs=0.5)
    assert found["round_mm"] == pytest.approx(660.4)
    assert found["round_of"]["square_side_mm"] == pytest.approx(165.1, abs=0.05)
    assert found["round_of"]["circle_diameter_mm"] == pytest.approx(210.2, abs=0.05)
    assert found["round_of"]["octagon_side_mm"] == pytest.approx(82.55, abs=0.05)


def test_soft_firebrick_against_hard() -> None:
    """Common practice, no source: soft firebrick insulates far better. By the tables 0.16 to 1.10 at 600 °C."""
    from supervisor.sizing.bricks import material

    assert material("dense").conducts(600.0) / material("23").conducts(600.0) == pytest.approx(6.9, abs=0.05)


def test_plain_steel_is_refused_with_what_would_happen() -> None:
    """Common practice, no source: any wire will do. Iron's table (CRC Handbook, from memory): 5.9 times at 527 °C."""
    said = refused(
        "coil", "--alloy", "steel", "--wire", "2 mm", "--length", "20 m", "--volts", "120", "--breaker", "20"
    )
    assert said.startswith("alloy is 'steel'; allowed: fecral-5.8,")
    assert "what draws 13 A hot asks 77 A cold" in said
