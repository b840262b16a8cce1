"""What a firing will take, said before its start: against simulated furnaces, and against what must be so."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from supervisor.firing.profile import Hold, Profile, Ramp
from supervisor.firing.profile_file import read_profile
from supervisor.furnace.description import Tariff
from supervisor.furnace.file import read_furnace
from supervisor.logbook.lesson import Lesson, lesson
from supervisor.logbook.reading import open_log
from supervisor.metal.alloys import charge
from supervisor.model.forecast import Forecast, forecast
from supervisor.model.learned import Model
from tests.supervisor.logbook_melts import FURNACE, fired, keep_melt

WORKSHOP = read_furnace("workshop")
FAST = 2000.0  # °C/h: more than the furnace can follow with metal in it, so full power


def plan(mass_kg: float = 2.0, *, rate_c_per_h: float = FAST, top_c: float = 800.0) -> Profile:
    segments = (Ramp(740.0, rate_c_per_h, None), Hold(900.0, 5.0, True), Hold(300.0, None, False))
    return Profile("Melt", segments, top_c, 720.0, 12_600.0, charge(mass_kg, "6082", "off-cuts"), "")


@pytest.fixture(scope="module")
def learned(tmp_path_factory: pytest.TempPathFactory) -> Model:
    """From three ordinary melts of other charges on the simulated bench furnace."""
    path = tmp_path_factory.mktemp("log")
    for firing_id, mass_kg in enumerate((1.0, 2.0, 2.5), start=1):
        keep_melt(path, firing_id, mass_kg=mass_kg)
    with open_log(path) as log:
        taught = lesson(log, FURNACE)
    assert isinstance(taught, Lesson)
    return taught.model


def came_to_pour(mass_kg: float, minutes: float) -> tuple[float, float]:
    """Minutes until the coldest metal of the simulated furnace was at 720 °C, plainly regulated, and kWh by then."""
    for number, each in enumerate(fired(minutes, mass_kg, 1.0, None)):
        if each.coldest_c >= 720.0:
            return (number + 1) / 60.0, each.energy_wh / 1000.0
    raise AssertionError("it never got there")


@pytest.mark.parametrize("mass_kg", [1.2, 1.8, 2.3])
def test_a_charge_between_those_that_were_learned_comes_within_the_band(learned: Model, mass_kg: float) -> None:
    minutes, _ = came_to_pour(mass_kg, 75.0)
    said = forecast(FURNACE, learned, plan(mass_kg, rate_c_per_h=1e4)).minutes
    assert said is not None
    assert said.low <= minutes <= said.high


@pytest.mark.parametrize("mass_kg", [1.5, 3.0])
def test_after_three_learned_melts_the_next_one_is_forecast_within_a_tenth(learned: Model, mass_kg: float) -> None:
    """The project's own goal; the charge is one that was not learned from. Simulated."""
    minutes, kwh = came_to_pour(mass_kg, 75.0)
    said = forecast(FURNACE, learned, plan(mass_kg, rate_c_per_h=1e4))
    assert said.minutes is not None
    assert said.learned
    assert abs(said.minutes.likely / minutes - 1.0) <= 0.10
    assert abs(said.kwh / kwh - 1.0) <= 0.10


def test_by_the_data_sheets_alone_the_band_is_wider_and_still_holds(learned: Model) -> None:
    by_sheet, by_melts = forecast(FURNACE, None, plan(1.5)), forecast(FURNACE, learned, plan(1.5))
    assert by_sheet.minutes is not None
    assert by_melts.minutes is not None
    assert not by_sheet.learned
    assert by_sheet.minutes.high - by_sheet.minutes.low > 2.0 * (by_melts.minutes.high - by_melts.minutes.low)
    minutes, _ = came_to_pour(1.5, 75.0)
    assert by_sheet.minutes.low <= minutes <= by_sheet.minutes.high


def test_the_gate_is_forecast_where_the_profile_takes_the_chamber_to_it(learned: Model) -> None:
    """A slow ramp decides it: 550 less 50 K under the solidus of 585 less 30, from 20 °C at 600 °C/h."""
    said = forecast(FURNACE, learned, plan(rate_c_per_h=600.0))
    assert said.gate_asks_min is not None
    assert said.gate_asks_min.likely == pytest.approx((585.0 - 30.0 - 50.0 - 20.0) / 10.0, abs=1.0)
    assert said.gate_asks_min.early < said.gate_asks_min.likely
    assert said.minutes is not None
    assert said.gate_asks_min.likely < said.minutes.low


def test_a_chamber_that_may_be_hotter_is_ready_sooner(learned: Model) -> None:
    plain, boosted = forecast(FURNACE, learned, plan()), forecast(FURNACE, learned, plan(), cap_c=800.0)
    assert plain.minutes is not None
    assert boosted.minutes is not None
    assert boosted.minutes.likely < 0.95 * plain.minutes.likely
    at_target = forecast(FURNACE, learned, plan(), cap_c=740.0)
    assert at_target.minutes == plain.minutes


def test_low_mains_take_longer(learned: Model) -> None:
    low, nominal = (forecast(FURNACE, learned, plan(), mains_factor=factor).minutes for factor in (0.9, 1.0))
    assert low is not None
    assert nominal is not None
    assert low.likely > 1.05 * nominal.likely


def test_a_warm_furnace_is_ready_sooner_and_known_less_well(learned: Model) -> None:
    cold, warm = (forecast(FURNACE, learned, plan(), reading_c=at_c) for at_c in (20.0, 400.0))
    assert cold.minutes is not None
    assert warm.minutes is not None
    assert warm.minutes.likely < cold.minutes.likely
    assert warm.kwh < cold.kwh
    assert warm.minutes.high / warm.minutes.low > cold.minutes.high / cold.minutes.low


def test_cost_is_shown_where_a_price_is_known(learned: Model) -> None:
    without, priced = forecast(FURNACE, learned, plan()), forecast(FURNACE, learned, plan(), tariff=Tariff(0.5, "EUR"))
    assert (without.cost, without.currency) == (None, None)
    assert (priced.cost, priced.currency) == (0.5 * priced.kwh, "EUR")


def test_a_firing_without_metal_has_energy_to_its_end_and_no_gate(repository: Path) -> None:
    dry = read_profile(repository / "docs/examples/dry-moulds.toml", WORKSHOP)
    said = forecast(WORKSHOP, None, dry)
    assert (said.minutes, said.gate_asks_min) == (None, None)
    assert 0.2 < said.kwh < 1.5


def test_a_plan_that_ends_before_the_metal_is_there_says_no_minutes(learned: Model) -> None:
    short = replace(plan(), segments=(Ramp(740.0, FAST, None),))
    assert forecast(FURNACE, learned, short).minutes is None
    cut = replace(plan(), longest_s=1200.0)
    assert forecast(FURNACE, learned, cut).minutes is None


def test_the_object_is_what_programs_get(learned: Model) -> None:
    told: dict[str, Any] = forecast(FURNACE, learned, plan(), tariff=Tariff(0.5, "EUR")).as_object()
    assert set(told) == {"minutes", "gate_asks_min", "kwh", "cost", "currency", "learned"}
    assert set(told["minutes"]) == {"likely", "low", "high"}
    assert set(told["gate_asks_min"]) == {"likely", "early"}


@pytest.mark.parametrize("wrong", [{"reading_c": float("nan")}, {"mains_factor": 0.0}, {"charge_c": 2000.0}])
def test_what_cannot_be_is_refused_by_name(wrong: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match=f"{next(iter(wrong))} is .*; allowed: "):
        forecast(FURNACE, None, plan(), **wrong)


@settings(max_examples=10, deadline=None)
@given(mass_kg=st.floats(0.3, 2.8), reading_c=st.floats(10.0, 600.0), mains=st.floats(0.9, 1.06))
def test_bands_are_in_order_and_the_same_question_has_the_same_answer(
    mass_kg: float, reading_c: float, mains: float
) -> None:
    def ask() -> Forecast:
        return forecast(FURNACE, None, plan(mass_kg), reading_c=reading_c, mains_factor=mains, cap_c=800.0)

    said = ask()
    assert said == ask()
    assert said.minutes is not None
    assert 0.0 < said.minutes.low < said.minutes.likely < said.minutes.high
    assert said.kwh > 0.0
