"""Age is told from mains where a voltage was read; what is left of an element comes with a band that holds it."""

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from supervisor.care.ageing import growth, melts_left
from supervisor.care.element import VoltRead, element_of
from supervisor.care.mains import age_or_mains
from supervisor.furnace.file import read_furnace
from tests.campaigns.care_lives import figure, life

WORKSHOP = read_furnace("workshop")


def test_the_resistance_is_that_of_voltage_and_metered_power() -> None:
    full_wh = WORKSHOP.full_power_w
    results = {"ordered_wh": full_wh, "metered_wh": 0.81 * full_wh}  # mains a tenth low
    found = element_of(results, WORKSHOP, [VoltRead(1000.0, 0.9 * WORKSHOP.supply_v)])
    assert found is not None
    hot_ohm = WORKSHOP.supply_v**2 / WORKSHOP.full_power_w
    assert found.ohm == pytest.approx(hot_ohm)
    assert found.apparent_ohm == pytest.approx(hot_ohm / 0.81)
    unread = element_of(results, WORKSHOP)
    assert unread is not None
    assert (unread.apparent_ohm, unread.ohm, unread.volt) == (found.apparent_ohm, None, None)


def test_the_power_round_the_reading_counts_and_not_the_whole_firings() -> None:
    full_w = WORKSHOP.full_power_w
    energies = [(60.0 * n, full_w * n / 60.0, full_w * (n / 60.0 if n < 30 else 0.5 + 0.9 * (n - 30) / 60.0))
                for n in range(61)]  # fmt: skip
    results = {"ordered_wh": full_w, "metered_wh": 0.95 * full_w}
    early = element_of(results, WORKSHOP, [VoltRead(600.0, WORKSHOP.supply_v)], energies)
    assert early is not None
    assert early.ohm == pytest.approx(WORKSHOP.supply_v**2 / full_w, rel=1e-6)


@pytest.mark.parametrize(
    "results", [{}, {"ordered_wh": 100.0, "metered_wh": 100.0}, {"ordered_wh": 900.0, "metered_wh": 0.0}]
)
def test_without_enough_energy_it_says_nothing(results: dict[str, float]) -> None:
    assert element_of(results, WORKSHOP) is None


@pytest.mark.parametrize("old", [True, False])
def test_a_tenth_more_resistance_is_told_from_mains(old: bool) -> None:
    right = 0
    for trial in range(60):
        random = Random(f"{trial} {old}")
        new = [figure(n, 22.0, random.gauss(1.0, 0.02), random, read=True) for n in (1, 2, 3)]
        now = figure(9, 24.2 if old else 22.0, random.uniform(0.9, 1.1), random, read=True)
        told = age_or_mains(new, now)
        assert told is not None
        right += (told.cause in ("age", "both")) == old
    assert right >= 57


def test_without_a_voltage_it_says_that_it_cannot_tell() -> None:
    random = Random(1)
    new = [figure(n, 22.0, 1.0, random, read=False) for n in (1, 2, 3)]
    told = age_or_mains(new, figure(9, 24.2, 1.0, random, read=False))
    assert told is not None
    assert told.cause == "unknown"
    assert "not to be told without a voltage" in told.words


def test_the_band_holds_what_was_left() -> None:
    inside = 0
    for seed in range(20):
        lived = life(seed)
        at = max(5, round(0.7 * len(lived.grown)))
        said = melts_left(lived.figures[:at])
        assert said.low is not None
        assert said.high is not None
        inside += said.low <= len(lived.grown) - at <= said.high
    assert inside >= 17


@given(st.integers(0, 400))
def test_growth_never_turns_back(seed: int) -> None:
    shares = [each.share for each in growth(life(seed).figures[:20])]
    assert shares == sorted(shares)


def test_with_too_little_it_says_what_is_missing() -> None:
    assert melts_left([]).state == "unknown"
    assert "2 more firings with the meter" in melts_left(life(1).figures[:1]).words
