import pytest
from adafruit_max31855 import MAX31855
from hypothesis import given
from hypothesis import strategies as st

from hardware.ports import Reading, SensorFault
from hardware.sensor import UNTOUCHED, Sensor, SpiBus, reading_from_frame
from hardware.simulated.bus import Conduct, SimulatedBus, frame_from_codes

# MAX31855 data sheet (Maxim 19-5793), table 4: thermocouple temperature data, 14 bits. Typed from memory.
HOT_ROWS = {
    1600.00: "01100100000000",
    1000.00: "00111110100000",
    100.75: "00000110010011",
    25.00: "00000001100100",
    0.00: "00000000000000",
    -0.25: "11111111111111",
    -1.00: "11111111111100",
    -250.00: "11110000011000",
}
# Same data sheet, table 5: reference junction temperature data, 12 bits. Typed from memory.
COLD_ROWS = {
    127.0000: "011111110000",
    100.5625: "011001001001",
    25.0000: "000110010000",
    0.0000: "000000000000",
    -0.0625: "111111111111",
    -1.0000: "111111110000",
    -20.0000: "111011000000",
    -55.0000: "110010010000",
}


class Wire:
    """A bus that answers what the test says, and a clock that moves when the bus blocks."""

    def __init__(self) -> None:
        self.word = frame_from_codes(2800, 400)
        self.conduct = Conduct.ANSWERS
        self.now_s = 0.0
        self.bus = SimulatedBus(lambda: (self.word, self.conduct), self.pass_time)
        self.sensor = Sensor(self.bus, lambda: self.now_s)

    def pass_time(self, seconds: float) -> None:
        self.now_s += seconds


@pytest.fixture
def wire() -> Wire:
    return Wire()


def driver_of(word: int) -> MAX31855:
    return MAX31855(SimulatedBus(lambda: (word, Conduct.ANSWERS), lambda seconds: None), None)


@pytest.mark.parametrize(("hot_c", "bits"), HOT_ROWS.items())
def test_hot_junction_rows_of_the_data_sheet(hot_c: float, bits: str) -> None:
    word = int(bits, 2) << 18 | 0x190 << 4
    assert frame_from_codes(round(hot_c * 4), 0x190) == word
    assert driver_of(word).temperature == hot_c
    reading = reading_from_frame(word)
    if -50 < hot_c < 1300:
        assert isinstance(reading, Reading)
        assert reading.hot_junction_c == pytest.approx(driver_of(word).temperature_NIST, abs=1e-9)
    else:
        assert reading == SensorFault(word, f"value out of range: hot junction {hot_c:.0f} degC")


@pytest.mark.parametrize(("cold_c", "bits"), COLD_ROWS.items())
def test_cold_junction_rows_of_the_data_sheet(cold_c: float, bits: str) -> None:
    word = 400 << 18 | int(bits, 2) << 4
    assert frame_from_codes(400, round(cold_c * 16)) == word
    reading = reading_from_frame(word)
    if -20 <= cold_c <= 85:
        assert isinstance(reading, Reading)
        assert reading.cold_junction_c == cold_c
    else:
        assert reading == SensorFault(word, f"value out of range: cold junction {cold_c:.1f} degC")


def test_the_worked_frame_of_700_degc_with_25_degc() -> None:
    assert frame_from_codes(2800, 400) == 0x2BC01900


@given(st.integers(-200, 5100), st.integers(-320, 1360))
def test_agrees_with_the_drivers_own_correction(hot_code: int, cold_code: int) -> None:
    word = frame_from_codes(hot_code, cold_code)
    reading = reading_from_frame(word)
    if isinstance(reading, Reading):
        driver = driver_of(word)
        assert reading.hot_junction_c == pytest.approx(driver.temperature_NIST, abs=1e-9)
        assert reading.cold_junction_c == driver.reference_temperature
    else:
        assert reading.reason.startswith(("value out of range", "no answer"))


@given(st.integers(0, 0xFFFF_FFFF))
def test_any_word_is_a_temperature_in_range_or_a_reason(word: int) -> None:
    reading = reading_from_frame(word)
    assert reading.word == word
    if isinstance(reading, Reading):
        assert -50 <= reading.hot_junction_c <= 1300
        assert -20 <= reading.cold_junction_c <= 85
        assert word & 0x0003_000F == 0
    else:
        assert reading.reason


@given(st.integers(1, 7), st.integers(-0x2000, 0x1FFF), st.integers(-0x800, 0x7FF))
def test_every_set_fault_bit_is_named(bits: int, hot_code: int, cold_code: int) -> None:
    reading = reading_from_frame(frame_from_codes(hot_code, cold_code, bits))
    assert isinstance(reading, SensorFault)
    named = [name in reading.reason for name in ("open circuit", "short circuit to ground", "short circuit to supply")]
    assert named == [bool(bits & 1), bool(bits & 2), bool(bits & 4)]


GOOD = 0x2BC0_1900


@pytest.mark.parametrize(
    ("word", "reason"),
    [
        (0x0000_0000, "no answer"),
        (0xFFFF_FFFF, "no answer"),
        (GOOD | 1 << 17, "damaged frame: a reserved bit is set"),
        (GOOD | 1 << 3, "damaged frame: a reserved bit is set"),
        (GOOD | 1 << 16, "damaged frame: its fault bits disagree"),
        (GOOD | 1, "damaged frame: its fault bits disagree"),
        (GOOD | 1 << 16 | 1, "open circuit"),
        (GOOD | 1 << 16 | 6, "short circuit to ground and short circuit to supply"),
    ],
)
def test_what_the_driver_lets_pass_is_refused(word: int, reason: str) -> None:
    assert reading_from_frame(word) == SensorFault(word, reason)


@given(st.integers(0, 0xFFFF_FFFF), st.integers(0, 14))
def test_no_frame_with_a_byte_left_over_is_believed(word: int, filled: int) -> None:
    frame, untouched = word.to_bytes(4, "big"), UNTOUCHED.to_bytes(4, "big")
    mixed = bytes(frame[byte] if filled >> byte & 1 else untouched[byte] for byte in range(4))
    assert isinstance(reading_from_frame(int.from_bytes(mixed, "big")), SensorFault)


def test_one_read_is_one_transaction(wire: Wire) -> None:
    assert isinstance(wire.sensor.read(), Reading)
    assert wire.bus.reads == 1


@pytest.mark.parametrize(
    ("conduct", "reason"),
    [
        (Conduct.FILLS_NOTHING, "no answer"),
        (Conduct.HALF_A_FRAME, "damaged frame: a reserved bit is set"),
        (Conduct.FAILS, "bus error: [Errno 5] Input/output error"),
        (Conduct.BLOCKS, "answer came too late"),
    ],
)
def test_a_sick_bus_is_a_fault_and_never_the_last_reading(wire: Wire, conduct: Conduct, reason: str) -> None:
    healthy = wire.sensor.read()
    wire.conduct = conduct
    for _ in range(3):
        reading = wire.sensor.read()
        assert isinstance(reading, SensorFault)
        assert reading.reason == reason
    wire.conduct = Conduct.ANSWERS
    assert wire.sensor.read() == healthy


def test_a_lock_left_held_ends_in_a_fault_not_in_a_spin(wire: Wire) -> None:
    wire.bus.try_lock()
    reading = wire.sensor.read()
    assert isinstance(reading, SensorFault)
    assert reading.reason == "bus error: the bus was still locked after 0.1 s"
    wire.bus.unlock()
    assert isinstance(wire.sensor.read(), Reading)


def test_a_bus_that_fails_gives_its_lock_back() -> None:
    class Broken(SpiBus):
        def readinto(self, buffer: bytearray) -> None:
            raise OSError("cable off")

    bus = Broken()
    sensor = Sensor(bus, lambda: 0.0)
    assert sensor.read().word == sensor.read().word == UNTOUCHED
    assert bus.try_lock()
