"""A lying sensor is found by melts of known metal; a true one is left in peace; its number is told with its parts."""

from math import sqrt
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from supervisor.care.accuracy import CLASSES, accuracy
from supervisor.care.sensor import Melting, beside, boiling_c, fixed_point, truth, use
from supervisor.refusal import InputRefused


def melts(*offsets_k: float, sd_k: float = 1.0, known: bool = True) -> list[Melting]:
    return [Melting(n, n * 86_400_000, offset, sd_k, known) for n, offset in enumerate(offsets_k, start=1)]


@pytest.mark.parametrize("bias_k", [10.0, -10.0])
@pytest.mark.parametrize("seed", range(20))
def test_ten_kelvin_are_found_within_two_melts_of_known_metal(bias_k: float, seed: int) -> None:
    random = Random(seed)
    healthy = [random.gauss(2.0, 1.5) for _ in range(8)]
    assert not any(truth(melts(*healthy[:count])).found for count in range(1, 9))
    found = truth(melts(*healthy, *(random.gauss(2.0 + bias_k, 1.5) for _ in range(2))))
    assert found.found
    assert f"K {'higher' if bias_k > 0 else 'lower'} than in its first melts" in found.words


def test_scrap_that_is_not_what_it_was_entered_as_neither_counts_nor_cries() -> None:
    wild = [Melting(9, 9, 40.0, 15.0, True), Melting(10, 10, -30.0, 21.0, True)]
    assert not truth([*melts(0.0, 1.0, -1.0, 0.5), *wild]).found
    assert truth(melts(0.0, 1.0, -1.0, 0.5, known=False)).bias_k is None
    mixed = truth(melts(8.0, -9.0, 3.0, 12.0, -10.0, 6.0, 5.0, 9.0, known=False), mixed=True)
    assert mixed.within_k > 15.0  # as far as mixed scrap repeats, and no closer
    assert not mixed.found
    steady = [3.0, -2.0, 1.0, 4.0, -3.0, 0.0]
    odd = [Melting(20 + n, 20 + n, -35.0, 8.0, False) for n in range(3)]  # scatter: they are of another alloy
    biased = truth([*melts(*steady, known=False), *odd, *melts(14.0, 13.0, known=False)], mixed=True)
    assert biased.found
    assert not truth([*melts(*steady, known=False), *odd], mixed=True).found


def test_a_new_sensor_is_told_beside_the_one_before_it() -> None:
    assert beside(melts(4.0, 3.0), melts(0.0, 1.0, -1.0)) == (
        "It reads 4 K higher than the sensor before it, at the flat part."
    )
    assert "reads as the sensor before it" in beside(melts(0.5), melts(0.0))
    assert not beside(melts(4.0), [])
    assert not beside(melts(4.0, known=False), melts(0.0))


def test_a_drift_is_told_as_a_slope() -> None:
    assert truth(melts(*(0.3 * n for n in range(12)))).drift_k_per_10 == pytest.approx(3.0, abs=0.05)


def test_its_use_is_counted_against_limits() -> None:
    assert not use(59, 20.0, 780.0).due
    assert use(60, 20.0, 780.0).due
    assert use(10, 100.0, 780.0).due
    assert use(180, 20.0, 780.0).over


@pytest.mark.parametrize(
    ("altitude_m", "boils_c"),
    [(0.0, 100.0), (1000.0, 96.7), (2000.0, 93.4)],  # from memory of boiling tables; ISO 2533 standard atmosphere
)
def test_water_boils_by_altitude(altitude_m: float, boils_c: float) -> None:
    assert boiling_c(altitude_m) == pytest.approx(boils_c, abs=0.2)
    assert boiling_c(pressure_hpa=1013.25) == pytest.approx(100.0, abs=0.1)


@pytest.mark.parametrize("asked", [{}, {"altitude_m": 0.0, "pressure_hpa": 1000.0}, {"altitude_m": 9000.0}])
def test_where_it_boils_is_asked(asked: dict[str, float]) -> None:
    with pytest.raises(InputRefused):
        boiling_c(**asked)


def test_a_fixed_point_passes_within_its_limit() -> None:
    assert fixed_point(0.5, 0.0)[0]
    assert not fixed_point(6.0, 0.0)[0]
    with pytest.raises(InputRefused):
        fixed_point(float("nan"), 0.0)


@given(st.sampled_from(sorted(CLASSES)), st.floats(100.0, 1000.0), st.booleans(), st.integers(0, 200))
def test_the_number_is_the_root_sum_of_its_parts(kind: str, at_c: float, extension: bool, used: int) -> None:
    found = accuracy(at_c, kind=kind, extension=extension, melts=used)
    assert found.limit_k == pytest.approx(sqrt(sum(part.limit_k**2 for part in found.parts)), abs=0.06)
    assert all(part.source for part in found.parts)
    assert accuracy(at_c, kind=kind, extension=extension, melts=used, held_within_k=3.0).limit_k <= found.limit_k
