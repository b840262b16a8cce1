"""What cannot be in a furnace file is refused in one sentence: file, field, value, what is allowed."""

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from supervisor.furnace.file import read_furnace
from supervisor.refusal import InputRefused
from tests.supervisor.furnace_text import BENCH, refused, with_field, without_table

NEEDED = (
    *("relay", "enable", "permit", "lamp", "sounder"),
    *("emergency_stop", "limiter", "key", "chain", "permit_relay_1", "mirror", "reset_button"),
)


@pytest.mark.parametrize("line", NEEDED)
def test_a_furnace_without_a_line_that_heat_needs_is_refused(tmp_path: Path, line: str) -> None:
    sentence = refused(tmp_path, with_field(f"pins.{line}", None))
    assert sentence.startswith(f": pins.{line} is missing; allowed: BCM ")
    assert sentence.endswith("real heat is refused without it") or line in NEEDED[:5]


# Pins 0 to 8 are pulled up and 9 to 27 down at power-on: BCM2835 ARM Peripherals (Broadcom, 2012), section 6.2, table
# of alternative function assignments, column "Pull". SPI0 on 7 to 11, serial console on 14 and 15, I2C with fixed
# pull-ups on 2 and 3: Raspberry Pi documentation, GPIO. Hardware PWM on 12, 13, 18, 19: same table, from memory.
@pytest.mark.parametrize("pin", [-1, *range(12), 14, 15, 28, 100])
@pytest.mark.parametrize("line", ["relay", "enable", "permit", "lamp", "sounder"])
def test_an_output_on_a_pin_that_is_high_or_busy_at_power_on_is_refused(tmp_path: Path, line: str, pin: int) -> None:
    assert f": pins.{line} is {pin}; allowed: BCM " in refused(tmp_path, with_field(f"pins.{line}", str(pin)))


@pytest.mark.parametrize("pin", [12, 13, 18, 19])
def test_the_heat_permit_never_sits_on_a_hardware_pwm_pin(tmp_path: Path, pin: int) -> None:
    sentence = refused(tmp_path, with_field("pins.permit", str(pin)))
    assert f": pins.permit is {pin}; allowed: BCM 16, 17, 20 to 27" in sentence


@pytest.mark.parametrize("pin", [0, 1, 2, 3, 7, 8, 9, 10, 11, 14, 28])
def test_an_input_on_a_pin_with_another_duty_is_refused(tmp_path: Path, pin: int) -> None:
    assert f": pins.lid is {pin}; allowed: BCM 4 to 6, " in refused(tmp_path, with_field("pins.lid", str(pin)))


def test_two_lines_on_one_pin_are_refused_with_both_names(tmp_path: Path) -> None:
    sentence = refused(tmp_path, with_field("pins.mains", "19"))
    assert sentence == ": pins.mains is 19; allowed: a pin of its own, 19 is pins.lid"


@pytest.mark.parametrize(
    ("field", "value", "allowed"),
    [
        ("relay.window_s", "1.9", "2 to 10 s"),
        ("relay.window_s", "10.1", "2 to 10 s"),
        ("top_c", "851", "up to 850 °C, 50 K below limiter.setting_c"),
        ("top_c", "nan", "50 to 1250 °C"),
        ("top_c", "inf", "50 to 1250 °C"),
        ("top_c", '"850"', "50 to 1250 °C"),
        ("top_c", "true", "50 to 1250 °C"),
        ("limiter.setting_c", "899", None),
        ("limiter.setting_c", "-900", "100 to 1300 °C"),
        ("supply.voltage_v", "0", "12 to 480 V"),
        ("supply.circuit_a", "10", None),
        ("element.cold_ohm", "0", "0.1 to 1000 ohm"),
        ("element.cold_ohm", "17", "at least 17.7 ohm on a 13 A circuit at 230 V"),
        ("element.hot_ratio", "5.9", "1 to 1.3"),
        ("wall.thickness_mm", "0", "10 to 500 mm"),
        ("wall.outside_m2", "0.1", "at least the inside area, 0.182 m²"),
        ("wall.conductivity_w_m_k", "-1", "0.01 to 20 W/m/K"),
        ("wall.conductivity_w_m_k", "5", None),
        ("wall.conductivity_per_k", "-0.001", None),
        ("crucible.capacity_kg", "4", "up to 3.38 kg, which fill it to the brim by bore_mm and depth_mm"),
        ("crucible.mass_kg", "0", "0.05 to 50 kg"),
        ("response.dead_time_s", "0", "0.5 to 300 s"),
        ("energy_meter.pulses_per_kwh", "1000.5", "100 to 10000 pulses per kWh"),
        ("letter", '"a"', "one capital letter from A to Z"),
        ("letter", '"AB"', "one capital letter from A to Z"),
        ("title", '""', "1 to 60 printable characters"),
        ("title", '"two\\nlines"', "1 to 60 printable characters"),
        ("invented", '"no"', "true or false"),
        ("pins.sensor_chip_selects", "[]", "[0], or [0, 1] with two thermocouples"),
        ("pins.sensor_chip_selects", "[1]", "[0], or [0, 1] with two thermocouples"),
        ("pins.sensor_chip_selects", "0", "[0], or [0, 1] with two thermocouples"),
        ("pins.relay", "27.0", "BCM 12, 13, 16 to 27; an output must be pulled down at power-on"),
    ],
)
def test_impossible_values_are_refused_with_field_value_and_what_is_allowed(
    tmp_path: Path, field: str, value: str, allowed: str | None
) -> None:
    sentence = refused(tmp_path, with_field(field, value))
    if allowed is None:  # another field bears the blame
        assert re.match(r": [\w.]+ is \S+; allowed: ", sentence)
        return
    assert sentence.startswith(f": {field} is ")
    assert sentence.endswith(f"; allowed: {allowed}")


def test_an_unknown_name_is_refused_with_the_name_that_was_meant(tmp_path: Path) -> None:
    sentence = refused(tmp_path, with_field("relay.window", "5"))
    assert sentence == ": relay.window is not a name used here; allowed: window_s, with its unit in the name"
    assert ": colour is not a name used here; allowed: title, " in refused(tmp_path, with_field("colour", '"red"'))


@pytest.mark.parametrize("table", ["supply", "element", "wall", "crucible", "response", "limiter", "relay", "pins"])
def test_a_missing_table_is_refused_with_what_belongs_in_it(tmp_path: Path, table: str) -> None:
    assert f": {table} is missing; allowed: a table with " in refused(tmp_path, without_table(table))


def test_half_an_energy_meter_is_refused(tmp_path: Path) -> None:
    assert ": pins.energy_pulse is missing; " in refused(tmp_path, with_field("pins.energy_pulse", None))
    assert ": energy_meter.pulses_per_kwh is missing; " in refused(tmp_path, without_table("energy_meter"))


def test_bad_toml_is_refused_with_its_line(tmp_path: Path) -> None:
    assert "is not TOML" in refused(tmp_path, "title = \nletter = 'A'\n")
    assert "line 1" in refused(tmp_path, "title = \nletter = 'A'\n")
    assert "line 2" in refused(tmp_path, "title = 'x'\nletter = 'A")
    assert "line 2" in refused(tmp_path, "title = 'x'\ntitle = 'y'\n")


@pytest.mark.parametrize("text", ["", "\n \n", "\ufeff"])
def test_an_empty_file_is_refused(tmp_path: Path, text: str) -> None:
    assert refused(tmp_path, text) == " is empty; allowed: a TOML file"


@pytest.mark.parametrize("text", ["a = " + "[" * 5000, "a = 1" + "0" * 5000])
def test_toml_that_would_break_its_reader_is_refused(tmp_path: Path, text: str) -> None:
    assert "is not TOML" in refused(tmp_path, text)


def test_what_is_no_readable_file_is_refused(tmp_path: Path) -> None:
    latin, large = tmp_path / "latin.toml", tmp_path / "large.toml"
    latin.write_bytes("title = 'Tür'".encode("latin-1"))
    large.write_bytes(b"#" * 70_000)
    expected = {
        str(tmp_path): "is a directory; allowed: a TOML file",
        str(tmp_path / "none.toml"): "cannot be read: no such file or directory",
        str(latin): "is not UTF-8 text at byte 10; allowed: a TOML file in UTF-8",
        str(large): "is larger than 65536 bytes; allowed: a TOML file of at most that size",
        "/dev/zero": "is not a plain file; allowed: a TOML file",
    }
    for path, ending in expected.items():
        with pytest.raises(InputRefused) as refusal:
            read_furnace(path)
        assert str(refusal.value) == f"{path} {ending}"
    with pytest.raises(InputRefused, match="cannot be the name of a file"):
        read_furnace("a\0b.toml")


@pytest.mark.parametrize("name", ["shop", "x" * 300])
def test_an_unknown_name_of_a_furnace_is_refused_with_the_shipped_ones(name: str) -> None:
    with pytest.raises(InputRefused) as refusal:
        read_furnace(name)
    assert str(refusal.value) == f"furnace is '{name}'; allowed: bench, workshop, or the path of a furnace file"


@given(
    start=st.integers(0, len(BENCH)),
    length=st.integers(0, 60),
    instead=st.text(max_size=12)
    | st.sampled_from(["-", "0", "[", "]", "=", '"', "nan", "1e999", "true", "\n", "1979-05-27"]),
)
def test_a_file_with_any_slip_of_the_pen_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, start: int, length: int, instead: str
) -> None:
    file = tmp_path_factory.getbasetemp() / "slip.toml"
    text = BENCH[:start] + instead + BENCH[start + length :]
    file.write_bytes(text.encode("utf-8", "surrogatepass"))
    try:
        read_furnace(str(file))
    except InputRefused as refusal:
        sentence = str(refusal)
    else:
        return
    assert sentence.startswith(str(file))
    assert len(sentence.splitlines()) == 1


@pytest.mark.parametrize(
    ("line", "allowed"),
    [
        ("heating_min = 31", "5 to 30 min"),
        ("hot_min = 16", "3 to 15 min"),
        ("hands_min = 6", "2 to 5 min"),
        ("hold_after_min = 6", "2.5 to 5 min"),
        ("end_after_min = 60", "5 to 15 min"),
        ("phone_answers = 4", "0 to 3"),
        ("heating_min = nan", ""),
    ],
)
def test_longer_times_of_attendance_are_refused(tmp_path: Path, line: str, allowed: str) -> None:
    sentence = refused(tmp_path, BENCH + f"\n[attendance]\n{line}\n")
    assert allowed in sentence
    assert line.split(" = ")[0] in sentence
