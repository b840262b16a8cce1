"""Furnace files: what ships, what may be left out and who says so, and a file of one's own."""

import hashlib
from pathlib import Path

import pytest

from hardware.ports import Wiring
from supervisor.furnace.description import Tariff
from supervisor.furnace.file import SHIPPED, read_furnace
from tests.supervisor.furnace_text import BENCH, FILES, refused, with_field, without_table


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_furnaces_are_invented_and_have_lid_mirror_limiter_and_meter_but_no_current_input(name: str) -> None:
    furnace = read_furnace(name)
    assert furnace.invented
    assert furnace.name == name
    assert furnace.pulses_per_kwh == 1000
    assert (furnace.top_c, furnace.limiter_c) == (850.0, 900.0)
    assert furnace.wiring == Wiring(
        relay=27,
        enable=22,
        permit=17,
        lamp=23,
        sounder=24,
        emergency_stop=5,
        limiter=6,
        key=26,
        chain=16,
        permit_relay_1=20,
        permit_relay_2=21,
        mirror=13,
        reset_button=18,
        lid=19,
        load_current=None,
        mains=None,
        tray_probe=None,
        energy_pulse=25,
        sensors=(0,),
    )


def test_shipped_furnaces_have_their_own_power_and_pot() -> None:
    bench, workshop = read_furnace("bench"), read_furnace("workshop")
    assert bench.full_power_w == pytest.approx(2550, rel=0.01)
    assert workshop.full_power_w == pytest.approx(2400, rel=0.01)
    assert (workshop.letter, workshop.crucible.mass_kg, workshop.crucible.capacity_kg) == ("A", 1.9, 2.5)
    assert bench.letter != workshop.letter


def test_the_page_shows_a_refusal_that_is_given(tmp_path: Path) -> None:
    page = (Path(__file__).parents[2] / "docs" / "furnace-file.md").read_text(encoding="utf-8")
    assert f"shed.toml{refused(tmp_path, with_field('pins.relay', '5'))}" in page


def test_the_digest_is_that_of_the_file() -> None:
    assert read_furnace("bench").digest == hashlib.sha256((FILES / "bench.toml").read_bytes()).hexdigest()


def test_a_file_of_ones_own_is_read_by_its_path(tmp_path: Path) -> None:
    file = tmp_path / "shed.toml"
    file.write_text(with_field("invented", "false"), encoding="utf-8")
    assert read_furnace(str(file)).name == "shed"
    assert not read_furnace(str(file)).invented


def test_energy_has_a_price_where_one_is_given(tmp_path: Path) -> None:
    assert read_furnace("bench").tariff is None
    file = tmp_path / "priced.toml"
    file.write_text(BENCH + '\n[tariff]\nper_kwh = 0.32\ncurrency = "EUR"\n', encoding="utf-8")
    assert read_furnace(str(file)).tariff == Tariff(0.32, "EUR")
    assert ": tariff.per_kwh is 0; allowed: 0.001 to 100 a kWh" in refused(
        tmp_path, BENCH + '\n[tariff]\nper_kwh = 0\ncurrency = "EUR"\n'
    )
    assert ": tariff.currency is " in refused(tmp_path, BENCH + '\n[tariff]\nper_kwh = 1\ncurrency = "a b"\n')


def test_what_may_be_not_fitted_may_be_left_out(tmp_path: Path) -> None:
    text = without_table("energy_meter")
    for line in ("lid", "permit_relay_2", "energy_pulse"):
        text = with_field(f"pins.{line}", None, text)
    file = tmp_path / "plain.toml"
    file.write_text(text, encoding="utf-8")
    furnace = read_furnace(str(file))
    assert furnace.pulses_per_kwh is None
    assert (furnace.wiring.lid, furnace.wiring.permit_relay_2, furnace.wiring.energy_pulse) == (None, None, None)


def test_a_second_thermocouple_is_a_second_chip_select(tmp_path: Path) -> None:
    file = tmp_path / "two.toml"
    signed = with_field("not_fitted.lines", '["load_current", "mains", "tray_probe"]')
    file.write_text(with_field("pins.sensor_chip_selects", "[0, 1]", signed), encoding="utf-8")
    assert read_furnace(str(file)).wiring.sensors == (0, 1)


REAL = with_field("invented", "false")
OPTIONAL = ("permit_relay_2", "lid", "load_current", "mains", "tray_probe", "second_sensor")


def test_what_a_furnace_is_without_is_said_with_who_says_it(tmp_path: Path) -> None:
    furnace = read_furnace("workshop")
    assert furnace.not_fitted is not None
    assert set(furnace.not_fitted.lines) == {"load_current", "mains", "tray_probe", "second_sensor"}
    file = tmp_path / "shed.toml"
    file.write_text(with_field("not_fitted.said_by", '"Ada, 3 May"', REAL), encoding="utf-8")
    mine = read_furnace(str(file)).not_fitted
    assert mine is not None
    assert mine.said_by == "Ada, 3 May"


@pytest.mark.parametrize("line", OPTIONAL)
def test_a_furnace_of_ones_own_leaves_nothing_out_without_saying_so(tmp_path: Path, line: str) -> None:
    lines = [name for name in OPTIONAL if name != line and name not in ("permit_relay_2", "lid")]
    text = with_field("not_fitted.lines", str(lines).replace("'", '"'), REAL)
    if line in ("permit_relay_2", "lid"):
        text = with_field(f"pins.{line}", None, text)
    sentence = refused(tmp_path, text)
    assert f": {line} is neither wired nor said to be not fitted; allowed: " in sentence


def test_an_invented_furnace_needs_no_signature(tmp_path: Path) -> None:
    file = tmp_path / "example.toml"
    file.write_text(without_table("not_fitted"), encoding="utf-8")
    assert read_furnace(str(file)).not_fitted is None
    assert "is neither wired" in refused(tmp_path, without_table("not_fitted").replace("invented = true", ""))


@pytest.mark.parametrize(("line", "why"), [("lid", "only what has no pin"), ("limiter", "any of permit_relay_2, lid")])
def test_what_is_wired_or_needed_cannot_be_signed_away(tmp_path: Path, line: str, why: str) -> None:
    sentence = refused(tmp_path, with_field("not_fitted.lines", f'["{line}"]'))
    assert f': not_fitted.lines is "{line}"; allowed: {why}' in sentence


def test_a_file_with_a_byte_order_mark_and_windows_line_ends_is_read(tmp_path: Path) -> None:
    file = tmp_path / "edited.toml"
    file.write_bytes(b"\xef\xbb\xbf" + BENCH.replace("\n", "\r\n").encode())
    assert read_furnace(str(file)).title == "Bench furnace"


def test_a_file_can_shorten_the_times_of_attendance_and_never_lengthen_them(tmp_path: Path) -> None:
    section = "[attendance]\nheating_min = 20\nhot_min = 10\nhands_min = 4\nphone_answers = 0\n"
    file = tmp_path / "mine.toml"
    file.write_text(BENCH + "\n" + section, encoding="utf-8")
    periods = read_furnace(str(file)).attendance
    assert (periods.heating_s, periods.hot_s, periods.hands_s, periods.phone_answers) == (1200.0, 600.0, 240.0, 0)
    assert (periods.hold_after_s, periods.end_after_s) == (300.0, 900.0)
    assert read_furnace("bench").attendance == (1800.0, 900.0, 300.0, 300.0, 900.0, 3)
