"""A boost in real firings: it comes with every condition, never without, and ends before the metal is too hot.

The metal's temperature is the plant's truth: simulated.
"""

from typing import Any

import pytest

from supervisor.firing import commands as c
from supervisor.firing.firing import MassDoubt
from supervisor.firing.states import HEATED
from supervisor.rehearsal.copied import in_a_copy
from tests.supervisor.firing.knowing import as_described, boosted_melt, charged, in_a_boost, knowing
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand

TARGET_C = 740.0


def highest_setpoint_c(hand: FurnaceAtHand) -> float:
    return max(row.setpoint_c for row in hand.rows() if row.setpoint_c is not None)


def hottest_metal_c(hand: FurnaceAtHand, seconds: float) -> float:
    hottest_c = 0.0
    for _ in range(round(seconds / 15.0)):
        hand.wait(15.0)
        hottest_c = max(hottest_c, hand.furnace.state.metal_hottest_c)
    return hottest_c


def test_with_everything_met_the_chamber_goes_to_the_cap_and_comes_back_in_time(boosted: FurnaceAtHand) -> None:
    hand = boosted
    run = hand.memory.firing.run
    assert run is not None
    hand.run_until(lambda: not run.boost.on, 3600.0)
    assert highest_setpoint_c(hand) == 800.0
    assert run.boost.ended
    assert hand.furnace.state.metal_mean_c > 660.0
    assert hottest_metal_c(hand, 1800.0) <= TARGET_C + 15.0
    assert hand.alarms() == []


@pytest.mark.parametrize(
    ("made", "why"),
    [
        ({"model": None}, "nothing is learned"),
        ({"model": as_described(BENCH, firings=2)}, "2 of 3 firings"),
        ({"drained": False}, "not known to have been empty"),
        ({"lid_moves": False}, "lid switch has not been seen to move"),
        ({"top_c": 740.0}, "leaves no room"),
    ],
)
def test_without_one_condition_the_setpoint_stays_at_the_target(made: dict[str, Any], why: str) -> None:
    lid_moves, top_c = made.pop("lid_moves", True), made.pop("top_c", 800.0)
    hand = knowing(start_c=500.0, **made)
    charged(hand, boosted_melt(top_c=top_c), lid_moves=lid_moves)
    run = hand.memory.firing.run
    assert run is not None
    hand.run_until(lambda: run.walk.setpoint_c >= TARGET_C, 3600.0)
    hand.wait(300.0)
    assert highest_setpoint_c(hand) <= TARGET_C
    assert why in run.boost.why_off
    assert run.boost.why_off.startswith("Not yet: ")


def test_a_hold_takes_the_chamber_to_the_target_at_once_and_no_resume_brings_the_boost_back(
    boosted: FurnaceAtHand,
) -> None:
    hand = boosted
    hand.hold()
    assert hand.memory.firing.setpoint_c is not None
    hand.wait(1.0)
    assert hand.memory.firing.setpoint_c <= TARGET_C
    hand.resume()
    hand.wait(30.0)
    assert hand.state in HEATED
    hand.wait(600.0)
    run = hand.memory.firing.run
    assert run is not None
    assert "held" in run.boost.ended
    assert all(row.setpoint_c is None or row.setpoint_c <= TARGET_C for row in hand.rows()[-600:])


def test_metal_held_for_an_hour_in_a_boost_stays_within_fifteen_kelvin_of_the_target() -> None:
    hand = in_a_boost(metal_c=520.0)

    def held() -> float:
        hand.hold()
        return hottest_metal_c(hand, 3600.0)

    for metal_c in (520.0, 648.0, 670.0):
        hand.run_until(lambda metal_c=metal_c: hand.furnace.state.metal_mean_c >= metal_c, 3600.0)  # type: ignore[misc]
        assert in_a_copy(held) <= TARGET_C + 15.0


def test_an_opened_lid_ends_it_and_metal_added_with_its_mass_arms_it_again(boosted: FurnaceAtHand) -> None:
    hand = boosted
    run = hand.memory.firing.run
    assert run is not None
    hand.furnace.lid(open=True)
    hand.wait(20.0)
    assert run.boost.ended
    hand.furnace.add_charge(0.5, 20.0, "6082")
    assert hand.note(c.NoteKind.ADDITION, mass_kg=0.5).accepted
    hand.furnace.lid(open=False)
    hand.run_until(lambda: run.boost.on, 900.0)
    assert hand.events("boost")
    hand.run_until(lambda: bool(run.boost.ended), 3600.0)
    assert hottest_metal_c(hand, 1200.0) <= TARGET_C + 15.0


def test_an_opened_lid_without_an_addition_ends_it_for_good(boosted: FurnaceAtHand) -> None:
    hand = boosted
    run = hand.memory.firing.run
    assert run is not None
    hand.furnace.lid(open=True)
    hand.wait(20.0)
    hand.furnace.lid(open=False)
    hand.wait(900.0)
    assert run.boost.ended
    assert not run.boost.on


def test_a_dip_reading_near_the_target_ends_it(boosted: FurnaceAtHand) -> None:
    hand = boosted
    answer = hand.note(c.NoteKind.DIP, temperature_c=715.0)
    assert "The estimate said" in answer.sentence
    hand.wait(2.0)
    run = hand.memory.firing.run
    assert run is not None
    assert "dip" in run.boost.ended


def test_a_spent_allowance_ends_it_before_it_speaks(boosted: FurnaceAtHand) -> None:
    hand = boosted
    run = hand.memory.firing.run
    assert run is not None
    run.allowance_wh = run.energy_wh
    hand.wait(3.0)
    assert "energy-allowance" in run.boost.ended
    assert hand.alarms() == []


def test_a_watch_that_only_advises_ends_it_for_the_whole_firing(boosted: FurnaceAtHand) -> None:
    hand = boosted
    run = hand.memory.firing.run
    assert run is not None
    run.mass_doubt = MassDoubt(2.0, 1.0, "The reading is 47 K above what 2.00 kg should give.")
    hand.wait(3.0)
    assert hand.alarms() == ["mass-doubted"]
    assert run.boost.barred
    hand.furnace.lid(open=True)
    hand.wait(20.0)
    assert hand.note(c.NoteKind.ADDITION, mass_kg=0.5).accepted
    assert hand.note(c.NoteKind.MASS, mass_kg=2.5).accepted
    hand.furnace.lid(open=False)
    hand.wait(400.0)
    assert not run.boost.on


def test_a_mass_weighed_again_is_reckoned_from_the_start_and_nothing_is_said_meanwhile(boosted: FurnaceAtHand) -> None:
    hand = boosted
    adviser = hand.memory.adviser
    before = adviser.estimate
    assert before is not None
    assert hand.note(c.NoteKind.MASS, mass_kg=2.6).accepted
    assert adviser.estimate is None
    hand.wait(30.0)
    after = adviser.estimate
    assert after is not None
    assert after.metal_c < before.metal_c


def test_a_furnace_that_was_warm_at_the_start_has_half_of_it() -> None:
    hand = in_a_boost(start_c=500.0)
    run = hand.memory.firing.run
    assert run is not None
    hand.run_until(lambda: not run.boost.on, 3600.0)
    assert highest_setpoint_c(hand) == TARGET_C + 30.0


def test_lowering_takes_target_and_cap_down_together(boosted: FurnaceAtHand) -> None:
    hand = boosted
    hand.send(c.Lower(hand.by(), 30.0))
    hand.wait(2.0)
    run = hand.memory.firing.run
    assert run is not None
    assert run.boost.cap_c == 770.0
    setpoint_c = hand.memory.firing.setpoint_c
    assert setpoint_c is not None
    assert setpoint_c <= 770.0


def test_an_estimator_that_fails_is_a_doubt_and_no_heat_more() -> None:
    """A covariance that is none: the estimator cannot go on. The firing does, without boost and without numbers."""
    hand = knowing(start_c=500.0, model=as_described(BENCH, negative=True))
    charged(hand, boosted_melt())
    hand.wait(1500.0)
    run = hand.memory.firing.run
    assert run is not None
    assert hand.memory.adviser.estimate is None
    assert hand.memory.adviser.doubt
    assert [row.detail for row in hand.events("estimate")]
    assert hand.state in HEATED
    assert highest_setpoint_c(hand) <= TARGET_C


def test_plain_control_has_no_boost_whatever_was_learned() -> None:
    hand = knowing(start_c=500.0, controller="plain")
    charged(hand, boosted_melt())
    hand.wait(1800.0)
    assert highest_setpoint_c(hand) <= TARGET_C


def test_a_firing_after_one_that_was_not_poured_has_no_boost(boosted: FurnaceAtHand) -> None:
    hand = boosted
    hand.stop()
    hand.wait(5.0)
    hand.run_until(lambda: hand.reading_c < 500.0, 20_000.0)
    charged(hand, boosted_melt(mass_kg=0.5))
    run = hand.memory.firing.run
    assert run is not None
    hand.wait(1500.0)
    assert not run.boost.began
    assert "not known to have been empty" in run.boost.lacks
