"""Type K against the published table, and the whole sensor chain against it through the chip's own steps."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hardware.ports import Reading
from hardware.sensor import reading_from_frame
from hardware.simulated.bus import Chip, frame_from_codes
from hardware.type_k import type_k_c, type_k_emf_mv

# NIST Monograph 175 (1993), table for type K, reference junction at 0 degC; the same values stand in IEC 60584-1:2013
# and ASTM E230. Rounded there to 0.001 mV. Typed from memory of the printed table.
TABLE_MV: dict[int, float] = {
    -200: -5.891, -100: -3.554, -50: -1.889, -40: -1.527, -30: -1.156, -20: -0.778, -10: -0.392, 0: 0.000, 10: 0.397,
    20: 0.798, 25: 1.000, 30: 1.203, 40: 1.612, 50: 2.023, 60: 2.436, 100: 4.096, 150: 6.138, 200: 8.138, 250: 10.153,
    300: 12.209, 350: 14.293, 400: 16.397, 450: 18.516, 500: 20.644, 550: 22.776, 600: 24.905, 650: 27.025,
    700: 29.129, 750: 31.213, 800: 33.275, 850: 35.313, 900: 37.326, 950: 39.314, 1000: 41.276, 1050: 43.211,
    1100: 45.119, 1150: 46.995, 1200: 48.838, 1250: 50.644, 1300: 52.410, 1370: 54.819,
}  # fmt: skip

# emf to 0.0001 mV, by the ITS-90 functions of the PyPI package thermocouples_reference 0.20.
REFERENCE_MV: dict[float, float] = {
    100: 4.0962, 200: 8.1385, 300: 12.2086, 400: 16.3971, 500: 20.6443, 600: 24.9055, 660.32: 27.4606, 700: 29.1290,
    750: 31.2135, 800: 33.2754, 900: 37.3259, 1000: 41.2756, 1200: 48.8382,
}  # fmt: skip

# Reading of the chip's straight line minus the true temperature, cold junction at 25 degC: same package, ideal chip.
STRAIGHT_LINE_ERROR_C: dict[float, float] = {
    100: 0.01,
    300: -3.45,
    500: 0.92,
    700: 6.48,
    800: 6.93,
    1000: 0.76,
    1200: -16.02,
}

HOT = [t for t in TABLE_MV if -50 < t < 1300]
COLD = [0, 10, 20, 25, 30, 40, 50, 60]
PAIRS = [(hot_c, cold_c) for hot_c in HOT for cold_c in COLD if hot_c or cold_c]  # 0 and 0 is what a dead line reads


@pytest.mark.parametrize(("junction_c", "emf_mv"), TABLE_MV.items())
def test_emf_is_that_of_the_published_table(junction_c: float, emf_mv: float) -> None:
    assert type_k_emf_mv(junction_c) == pytest.approx(emf_mv, abs=0.00055)


@pytest.mark.parametrize(("junction_c", "emf_mv"), REFERENCE_MV.items())
def test_emf_is_that_of_a_reference_library(junction_c: float, emf_mv: float) -> None:
    assert type_k_emf_mv(junction_c) == pytest.approx(emf_mv, abs=0.00006)


@pytest.mark.parametrize("junction_c", [t for t in TABLE_MV if -200 < t < 1370])
def test_temperature_from_the_published_emf(junction_c: int) -> None:
    rounding_c = 0.0005 / 0.035 if junction_c >= -50 else 0.0005 / 0.015  # half a step of the table
    assert type_k_c(TABLE_MV[junction_c]) == pytest.approx(junction_c, abs=0.06 + rounding_c)


@given(st.floats(-199, 1371))
def test_there_and_back(junction_c: float) -> None:
    assert type_k_c(type_k_emf_mv(junction_c)) == pytest.approx(junction_c, abs=0.06)


@pytest.mark.parametrize("emf_mv", [-5.892, 54.887, float("nan"), float("inf")])
def test_an_emf_outside_the_range_is_refused(emf_mv: float) -> None:
    with pytest.raises(ValueError, match=r"allowed: -5\.891 to 54\.886 mV"):
        type_k_c(emf_mv)


@pytest.mark.parametrize(("hot_c", "cold_c"), PAIRS)
def test_a_frame_made_from_the_table_reads_as_the_true_temperature(hot_c: int, cold_c: int) -> None:
    """The chip's line: emf difference by 0.041276 mV/K, plus its own temperature (MAX31855 data sheet, table 1)."""
    straight_c = (TABLE_MV[hot_c] - TABLE_MV[cold_c]) / 0.041276 + cold_c
    reading = reading_from_frame(frame_from_codes(round(straight_c * 4), cold_c * 16))
    assert isinstance(reading, Reading)
    assert reading.hot_junction_c == pytest.approx(hot_c, abs=0.2)
    assert reading.cold_junction_c == cold_c


@pytest.mark.parametrize(("hot_c", "error_c"), STRAIGHT_LINE_ERROR_C.items())
def test_the_simulated_chip_has_the_real_ones_straight_line(hot_c: float, error_c: float) -> None:
    chip = Chip(seed=0)
    chip.hot_c, chip.cold_c = hot_c, 25.0
    straight_c = (chip.frame() >> 18) / 4
    assert straight_c - hot_c == pytest.approx(error_c, abs=0.13 + 0.01)
