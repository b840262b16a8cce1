"""A sensor that slips out of its place: how soon heat ends. Simulated."""

import pytest

from tests.supervisor.furnace_at_hand import bake
from tests.supervisor.watches.equipped import WITHOUT_METER, started


@pytest.mark.parametrize(("rate_c_per_h", "wait_s"), [(600.0, 400.0), (3000.0, 320.0)])
def test_a_sensor_that_slips_out_in_a_quarter_minute_takes_the_heat_in_six_seconds_and_trips_in_nine(
    rate_c_per_h: float, wait_s: float
) -> None:
    hand = started(WITHOUT_METER, bake(to_c=740.0, rate_c_per_h=rate_c_per_h), start_c=550.0)
    hand.wait(wait_s)
    hand.inject("sensor_slips", 15.0)
    began_s = hand.now_s
    heat_back_s = hand.now_s
    while hand.level("contactor"):
        hand.turn()
        heat_back_s = hand.now_s if hand.level("relay") else heat_back_s
        assert hand.now_s - began_s <= 9.0
    assert heat_back_s - began_s <= 6.0
    assert hand.first_cause == "colder-than-power"
