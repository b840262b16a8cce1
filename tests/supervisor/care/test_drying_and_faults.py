"""Schedules join to the slowest, stretches go on from the record; from symptoms dead-circuit tests lead to a part."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from supervisor.care.drying import MATERIALS, next_stretch, schedule
from supervisor.care.faults import DEAD, SYMPTOMS, suspects
from supervisor.care.lives import contactor, crucible, relay
from supervisor.firing.drying import DriedAt
from supervisor.firing.profile import Hold, Ramp
from supervisor.firing.profile_file import profile_from_text
from supervisor.furnace.file import read_furnace
from supervisor.furnace.parts import PARTS
from supervisor.refusal import InputRefused
from supervisor.watches import WATCHES

WORKSHOP = read_furnace("workshop")
DRIED = sorted(name for name, material in MATERIALS.items() if material.steps)


@given(st.lists(st.sampled_from(DRIED), min_size=1, unique=True), st.floats(5.0, 120.0))
def test_a_joined_schedule_is_as_slow_as_each_and_holds_as_long(materials: list[str], thickness_mm: float) -> None:
    joined = schedule(materials, thickness_mm, WORKSHOP.top_c)
    for name in materials:
        for step in MATERIALS[name].steps:
            (same,) = [each for each in joined.steps if each.at_c == step.at_c]
            assert same.rate_c_per_h <= step.rate_c_per_h
            assert same.hours >= step.hours + step.hours_per_25_mm * thickness_mm / 25.0 - 1e-9
    assert len(joined.sources) == len(materials)


@pytest.mark.parametrize("materials", [["firebrick"], ["firebrick", "air-setting-cement", "crucible"], ["castable"]])
def test_stretches_follow_each_other_to_the_end_and_each_is_a_profile_within_its_limit(materials: list[str]) -> None:
    of = schedule(materials, 13.0, WORKSHOP.top_c)
    firings: list[list[DriedAt]] = []
    while (stretch := next_stretch(of, firings, 10.0, "Dry-out")) is not None:
        profile = profile_from_text(stretch.toml, "stretch", WORKSHOP)
        assert profile.dries
        assert profile.drying_c_per_h == of.limit_c_per_h
        ramps = [each for each in profile.segments if isinstance(each, Ramp)]
        if firings:
            assert ramps[0].to_c == firings[-1][-1].at_c  # once more where the last hold ended
        firings.append([DriedAt(each.to_c, 120.0, 1.0) for each in ramps])
        assert len([each for each in profile.segments if isinstance(each, Hold)]) == len(ramps)
        assert len(firings) < 8
    assert firings[-1][-1].at_c == of.steps[-1].at_c


def test_a_stretch_that_ended_early_is_taken_up_where_it_ended() -> None:
    of = schedule(["firebrick", "air-setting-cement"], 13.0, WORKSHOP.top_c)
    first = next_stretch(of, [], 10.0, "x")
    assert first is not None
    assert first.from_c is None
    again = next_stretch(of, [[DriedAt(60.0, 60.0, 1.2)]], 10.0, "x")
    assert again is not None
    assert again.from_c == 60.0
    assert "past 60 °C, where the record says it is dry" in again.words


@pytest.mark.parametrize(
    ("materials", "thickness_mm", "hours"),
    [
        ([], 13.0, 8.0),
        (["butter"], 13.0, 8.0),
        (["firebrick"], 0.0, 8.0),
        (["firebrick"], 13.0, 1.0),
        (["firebrick"], 13.0, 11.0),
        (["castable"], 300.0, 3.0),
        (["element"], 13.0, 8.0),
    ],
)
def test_what_cannot_be_dried_is_refused(materials: list[str], thickness_mm: float, hours: float) -> None:
    with pytest.raises(InputRefused, match=r"dry-out: .* is .*; allowed: "):
        next_stretch(schedule(materials, thickness_mm, WORKSHOP.top_c), [], hours, "x")


def test_every_watch_and_part_of_the_fault_finder_exists() -> None:
    known = {watch.id for watch in WATCHES}
    for symptom in SYMPTOMS.values():
        assert set(symptom.watches) <= known
        assert len(symptom.tests) == 3
        assert {test.part for test in symptom.tests} <= set(PARTS)
    assert "Plug out or isolated, locked off, proved dead" in DEAD


@pytest.mark.parametrize(
    ("watch", "part"),
    [
        ("power-when-off", "relay"),
        ("heat-without-command", "relay"),
        ("contactor-stuck", "contactor"),
        ("no-power", "element"),
        ("heat-without-rise", "element"),
        ("element-shorted", "element"),
        ("no-reading", "sensor"),
        ("sensor-reversed", "sensor"),
        ("lid-unseen", "lid-switch"),
        ("start-test", "permit-board"),
        ("meter-disagrees", "meter"),
    ],
)
def test_what_spoke_leads_to_the_part_in_three_steps(watch: str, part: str) -> None:
    first = suspects({watch: "it spoke"})[0]
    assert part in [test.part for test in first.symptom.tests]


def test_lives_say_when_to_look() -> None:
    assert not relay(250_000, 300.0).look
    assert contactor(60_000, 100).look
    assert not contactor(None, 100).look
    assert crucible(25).look
    assert crucible(3, cracked=True).look
    assert not crucible(25, "silicon carbide").look
