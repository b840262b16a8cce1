"""A sensor that slips out of its place: how soon heat ends. Simulated."""

import pytest

from tests.supervisor.furnace_at_hand import bake
from tests.supervisor.watches.equipped import WITHOUT_METER, started


@pytest.mark.parametrize(("rate_c_per_h", "wait_s"), [(600.0, 400.0), (3000.0, 320.0)])
def test_a_sensor_that_slips_out_in_a_quarter_minute_ends_the_heat_within_nine_seconds(
    rate_c_per_h: float, wait_s: float
) -> None:
    hand = started(WITHOUT_METER, bake(to_c=740.0, rate_c_per_h=rate_c_per_h), start_c=550.0)
    hand.wait(wait_s)
    hand.inject("sensor_slips", 15.0)
    assert hand.run_until(lambda: not hand.level("relay") and not hand.level("contactor"), 60.0) <= 9.0
