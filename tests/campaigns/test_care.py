"""A few of the care campaign's cases: `python -m tests.campaigns.care` runs the long numbers."""

from supervisor.care.sensor import truth
from tests.campaigns.care import ageing, false_findings, sensed
from tests.campaigns.care_drying import dry_out


def test_a_biased_sensor_is_found_and_a_healthy_one_is_not() -> None:
    came = sensed("workshop", 1, healthy=4, mixed=0)
    assert len(came.healthy) == 4
    assert not false_findings(came.healthy)
    found = truth([*came.healthy, *came.biased])
    assert found.found
    assert found.bias_k is not None
    assert 6.5 < found.bias_k < 15.0


def test_age_is_told_from_mains() -> None:
    came = ageing(100, 2)
    assert came["told_apart"] >= 95
    assert came["without_a_voltage_it_says_unknown"] == 100


def test_a_wet_lining_is_held_longer_than_a_dry_one_and_stays_within_its_limit() -> None:
    wet, dry = dry_out("bench", 2, 0.2), dry_out("bench", 2, 0.0)
    assert wet.ended
    assert dry.ended
    assert wet.held_h > dry.held_h
    assert wet.water_kg < 0.05 * wet.began_kg
    assert max(wet.worst_c_per_h, dry.worst_c_per_h) <= wet.limit_c_per_h
