"""Mains that is always low here is told once, while nothing is learned, and is no news afterwards. Simulated."""

from dataclasses import replace

import pytest

from tests.supervisor.firing.knowing import as_described, boosted_melt, charged, knowing
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand


def heating(mains: float, usual: float) -> FurnaceAtHand:
    hand = knowing(model=replace(as_described(BENCH), power_share=usual))
    hand.inject("mains_low", mains)
    charged(hand, boosted_melt(mass_kg=1.5))
    hand.wait(180.0)
    return hand


@pytest.mark.parametrize(("usual", "speaks"), [(1.0, True), (0.85, False), (0.6, True)])
def test_what_this_furnace_usually_takes_is_what_low_mains_is_held_against(usual: float, *, speaks: bool) -> None:
    hand = heating(0.9 if usual > 0.7 else 0.88, usual)  # 81 and 77 % of the power
    hand.wait(120.0)
    assert ("mains-low" in hand.alarms()) is (speaks and usual > 0.7)


def test_turns_that_touch_are_told_also_where_mains_is_always_low() -> None:
    hand = heating(0.92, 0.85)
    hand.inject("element_shorted", 0.8)
    hand.run_until(lambda: "element-shorted" in hand.alarms(), 200.0)


@pytest.mark.parametrize(("usual", "fits"), [(1.0, False), (1.1, True)])
def test_a_meter_that_always_counts_two_fifths_more_fits_once_that_was_learned(usual: float, *, fits: bool) -> None:
    hand = heating(1.18, usual)  # 139 % of the power
    hand.wait(120.0)
    assert ("meter-disagrees" in hand.alarms()) is not fits
    assert hand.memory.firing.power.trusted(hand.now_s) is fits
