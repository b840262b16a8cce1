"""A second reading of the boost, by somebody who did not write it: what a note, a press or a file could make hotter.

The metal's temperature is the plant's truth: simulated.
"""

from dataclasses import replace
from math import nan
from typing import Literal

import pytest

from hardware.simulated.stand_in import StandIn
from supervisor.cycle import first_memory
from supervisor.firing import commands as c
from supervisor.firing.boosting import Boost, at_cap
from supervisor.firing.governor import highest_c
from supervisor.firing.presses import Asked
from supervisor.model.learned import usable_for_boost
from supervisor.watches import DOUBTS_THE_SENSOR
from tests.supervisor.firing.knowing import as_described, boosted_melt, charged, knowing
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, furnace_at_hand


def dip(hand: FurnaceAtHand, at_c: float) -> c.Note:
    return c.Note(hand.by(), c.NoteKind.DIP, hand.epoch, temperature_c=at_c)


def charge_kg(hand: FurnaceAtHand) -> float:
    run = hand.memory.firing.run
    assert run is not None
    return run.charge_kg


@pytest.mark.parametrize(("start_c", "really_kg"), [(500.0, 1.0), (500.0, 0.5), (550.0, 1.0), (20.0, 1.0)])
def test_less_metal_than_was_entered_is_not_overheated(start_c: float, really_kg: float) -> None:
    hand = knowing(start_c=start_c)
    charged(hand, boosted_melt(mass_kg=2.0), really_kg=really_kg)
    hottest_c = 0.0
    for _ in range(200):
        hand.wait(15.0)
        hottest_c = max(hottest_c, hand.furnace.state.metal_hottest_c)
    assert hottest_c <= 740.0 + 30.0


@pytest.mark.parametrize("start_c", [20.0, 500.0])
@pytest.mark.parametrize("after_s", [0.5, 10.0])
def test_half_the_mass_is_asked_about_however_soon_the_gate_is_answered(after_s: float, start_c: float) -> None:
    hand = knowing(start_c=start_c)
    charged(hand, boosted_melt(mass_kg=2.0), really_kg=1.0)
    hand.stand_in = StandIn(after_s)
    run = hand.memory.firing.run
    assert run is not None
    hand.run_until(lambda: run.mass_doubt is not None, 1800.0)
    assert hand.furnace.state.metal_hottest_c < 700.0


def test_a_lower_dip_reading_of_another_phone_does_not_hide_the_first(boosted: FurnaceAtHand) -> None:
    hand = boosted
    hand.turn(dip(hand, 730.0), dip(hand, 500.0))
    hand.wait(2.0)
    run = hand.memory.firing.run
    assert run is not None
    assert not run.boost.on


def test_metal_noted_under_a_lid_that_was_not_opened_gives_the_boost_no_more_time(boosted: FurnaceAtHand) -> None:
    hand = boosted
    run = hand.memory.firing.run
    assert run is not None
    assert hand.note(c.NoteKind.ADDITION, mass_kg=0.5).accepted
    hand.wait(2.0)
    assert not run.boost.on


def test_a_press_for_another_question_does_not_arm_the_boost_again(boosted: FurnaceAtHand) -> None:
    hand = boosted
    run = hand.memory.firing.run
    assert run is not None
    hand.stand_in = None
    hand.turn(dip(hand, 730.0))
    hand.wait(2.0)
    assert run.boost.ended
    hand.run_until(lambda: hand.asked is Asked.SIGN, 1200.0)
    assert hand.note(c.NoteKind.ADDITION, mass_kg=0.05).accepted
    hand.press()
    hand.wait(30.0)
    assert run.boost.ended
    assert not run.boost.on


def test_noting_masses_to_and_fro_gives_no_energy(boosted: FurnaceAtHand) -> None:
    hand = boosted
    run = hand.memory.firing.run
    assert run is not None
    before_wh = run.allowance_wh
    for _ in range(10):
        hand.note(c.NoteKind.ADDITION, mass_kg=0.5)
        hand.note(c.NoteKind.MASS, mass_kg=charge_kg(hand) - 0.5)
    assert charge_kg(hand) == pytest.approx(2.0)
    assert run.allowance_wh <= before_wh + 1.0


@pytest.mark.parametrize("spoilt", [(nan, 900.0, 950.0), (740.0, nan, 950.0), (740.0, 900.0, nan)])
def test_a_cap_of_a_number_that_is_none_is_none(spoilt: tuple[float, float, float]) -> None:
    assert not highest_c(*spoilt) > 740.0


def test_one_firing_named_three_times_is_one_firing() -> None:
    model = replace(as_described(BENCH), learned_from=(5, 5, 5))
    assert usable_for_boost(model, BENCH) is not None


@pytest.mark.parametrize("name", ["loss", "capacity", "leak", "power"])
@pytest.mark.parametrize("log_factor", [1.5, -1.5])
def test_a_first_model_far_from_the_data_sheets_is_not_adopted_from_a_phone(name: str, log_factor: float) -> None:
    hand = furnace_at_hand()
    hand.wait(1.0)
    model = as_described(hand.memory.furnace, **{name: log_factor})  # type: ignore[arg-type]  # names of factors
    hand.send(c.Adopt(hand.by(), model, 3, None, (), False, {}, ""))
    assert hand.memory.adviser.adopted is None


def test_what_was_learned_later_loosens_no_limit_past_the_commissioning_fit() -> None:
    """Losses that grew melt by melt, as a creeping sensor teaches them: what is left beyond the allowance stays."""
    ceilings = []
    for log_factor in (0.0, 0.25):
        hand = knowing(start_c=500.0)
        adviser = hand.memory.adviser
        adviser.commissioning = as_described(hand.memory.furnace)
        adviser.adopted = as_described(hand.memory.furnace, loss=log_factor, leak=log_factor)
        charged(hand, boosted_melt())
        run = hand.memory.firing.run
        assert run is not None
        ceilings.append((run.beyond_duty, run.allowance_wh))
    (first_duty, first_wh), (later_duty, later_wh) = ceilings
    assert later_duty <= first_duty * 1.001
    assert later_wh <= first_wh * 1.001


def test_after_a_power_cut_in_a_boost_the_next_firing_has_none_although_the_log_calls_the_pot_empty(
    boosted: FurnaceAtHand,
) -> None:
    hand = boosted
    before = hand.memory
    hand.memory = first_memory(
        before.furnace,
        backend=before.backend,
        monotonic_s=before.belief.monotonic_s,
        next_firing_id=before.next_firing_id,
        left_open="A-001 ended without its closing record.",
        knowing=before.adviser.adopted,
        drained=True,
    )
    hand.memory.firing.cold_checked = True
    hand.stand_in = None
    hand.wait(5.0)
    hand.send(c.Reset(hand.by(), "the power was off"))
    hand.run_until(lambda: hand.asked is Asked.RESET, 20.0)
    hand.hold_button()
    before_rows = len(hand.rows())
    charged(hand, boosted_melt())
    run = hand.memory.firing.run
    assert run is not None
    hand.wait(1500.0)
    assert not run.boost.began
    assert max(row.setpoint_c or 0.0 for row in hand.rows()[before_rows:]) <= 740.0


@pytest.mark.parametrize("model", ["learned", None])
def test_a_chamber_hotter_than_the_target_is_not_kept_there_for_cold_metal(model: Literal["learned"] | None) -> None:
    hand = knowing(start_c=790.0, model=model, drained=False)
    charged(hand, boosted_melt(rate_c_per_h=120.0))
    hand.wait(600.0)
    assert max(row.setpoint_c or 0.0 for row in hand.rows()) <= 740.0


def believing(hand: FurnaceAtHand, **changes: object) -> Boost:
    """A few seconds in which the estimate says something else than it does; what became of the boost."""
    adviser, run = hand.memory.adviser, hand.memory.firing.run
    assert run is not None
    for _ in range(12):
        assert adviser.estimate is not None
        adviser.estimate = replace(adviser.estimate, **changes)  # type: ignore[arg-type]  # a field of it
        hand.turn()
    return run.boost


def test_the_upper_edge_of_the_estimate_ends_a_boost_however_cold_its_middle(boosted: FurnaceAtHand) -> None:
    boost = believing(boosted, upper_c=716.0, metal_c=600.0)
    assert "near its target" in boost.ended


def test_an_estimate_with_a_doubt_carries_no_boost(boosted: FurnaceAtHand) -> None:
    boost = believing(boosted, doubt="There has been no reading for 70 s.")
    assert "not known" in boost.ended


def test_an_estimate_that_is_no_number_carries_no_boost(boosted: FurnaceAtHand) -> None:
    boost = believing(boosted, upper_c=nan)
    assert boost.ended


def test_a_sensor_that_is_trusted_no_more_ends_a_boost(boosted: FurnaceAtHand) -> None:
    hand = boosted
    hand.memory.firing.cold_checked = False
    hand.wait(2.0)
    run = hand.memory.firing.run
    assert run is not None
    assert "sensor" in run.boost.ended


def test_what_was_believed_of_another_mass_is_forgotten_at_once(boosted: FurnaceAtHand) -> None:
    hand = boosted
    assert hand.note(c.NoteKind.MASS, mass_kg=1.5).accepted
    assert hand.memory.adviser.estimate is None


def test_the_boosts_energy_is_that_of_a_lighter_charge() -> None:
    hand = knowing()
    hand.wait(1.0)
    hand.prepare(boosted_melt())
    adviser = hand.memory.adviser
    adviser.reckon()
    assert adviser.boost_wh is not None
    assert adviser.forecast is not None
    assert 0.75 < adviser.boost_wh / (1000.0 * adviser.forecast.kwh) < 0.97


def test_energy_that_was_ordered_ends_a_boost_whatever_the_meter_counts(boosted: FurnaceAtHand) -> None:
    hand = boosted
    run = hand.memory.firing.run
    assert run is not None
    assert run.boost.forecast_wh is not None
    run.ordered_wh = 1.1 * run.boost.forecast_wh + 5.0
    hand.wait(1.0)
    assert "energy" in run.boost.ended


def test_a_finding_against_the_sensor_leaves_the_estimate_in_doubt(boosted: FurnaceAtHand) -> None:
    hand = boosted
    hand.inject("sensor_frozen")
    hand.run_until(lambda: bool(DOUBTS_THE_SENSOR & set(hand.alarms())), 300.0)
    hand.wait(10.0)
    estimate = hand.memory.adviser.estimate
    assert estimate is None or estimate.doubt


def test_the_highest_duty_at_the_cap_is_remembered_from_a_minute_and_a_half_on() -> None:
    boost = Boost(on=True, began=True, cap_c=800.0)
    for second in range(1, 91):
        at_cap(boost, 795.0, 0.7)
        assert (boost.duty is None) == (second < 90)
    at_cap(boost, 795.0, 0.3)
    assert (boost.duty, boost.arrest_duty) == (0.3, 0.7)
