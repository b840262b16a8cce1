"""A hold of a dry-out ends when the power that it needs has stopped to fall; and a dry-out is for the day, attended."""

from dataclasses import replace

import pytest

from supervisor.firing.drying import BLOCK_S, DriedAt, Drying, from_record, is_dry, left, see
from supervisor.firing.permissive import before_the_night
from supervisor.firing.profile import Hold, Profile, segment_sentence
from supervisor.firing.profile_file import profile_from_text
from supervisor.firing.setpoint import Walk, advance, begin
from supervisor.furnace.reckoning import allowance_wh, at_longest, nominal_duration_s
from supervisor.furnace.stages import Unlocking
from supervisor.refusal import InputRefused
from tests.supervisor.furnace_at_hand import BENCH, furnace_at_hand

DRY_OUT = """
name = "Dry-out"
top_c = 300
drying_limit_c_per_h = 100
longest_h = 8

[[segment]]
ramp_to_c = 120
rate_c_per_h = 100

[[segment]]
hold_min = 60
until = "dry"

[[segment]]
ramp_to_c = 260
rate_c_per_h = 80

[[segment]]
hold_min = 30
until = "dry"
"""


CHARGE = '[charge]\nmass_kg = 1\nalloy = "6082"\nform = "off-cuts"'


def profile() -> Profile:
    return profile_from_text(DRY_OUT, "dry-out.toml", BENCH)


def at_first_hold() -> Walk:
    walk = begin(profile(), 120.0)
    while not isinstance(walk.profile.segments[walk.segment], Hold):
        advance(walk, 1.0, 120.0, 1000.0)
    return walk


def hold(drying: Drying, walk: Walk, needs: list[float]) -> list[bool]:
    """So many blocks at so many times the expected power each; whether it may end after each."""
    said = []
    for need in needs:
        for _ in range(round(BLOCK_S / 10.0)):
            may = see(drying, walk, walk.target_c, 0.1 * need, 0.1, 10.0)
        said.append(may)
    return said


@pytest.mark.parametrize("share", [0.7, 1.0, 1.4])
def test_a_dry_lining_is_told_after_two_looks_whatever_its_data_sheet_says(share: float) -> None:
    assert hold(Drying(), at_first_hold(), [share] * 11) == [False] * 9 + [True] * 2


def test_while_the_need_falls_or_still_rises_it_goes_on() -> None:
    assert not any(hold(Drying(), at_first_hold(), [1.5 * 0.99**n for n in range(20)]))
    assert not any(hold(Drying(), at_first_hold(), [1.0 + 0.02 * n for n in range(20)]))
    falling = [1.5, 1.4, 1.32, 1.26, 1.2, 1.16, 1.12, 1.1, 1.08, 1.07, 1.06, *[1.05] * 10]
    said = hold(Drying(), at_first_hold(), falling)
    assert not any(said[:13])
    assert said[-1]


def test_time_off_its_level_says_nothing() -> None:
    drying, walk = Drying(), at_first_hold()
    for _ in range(10_000):
        assert not see(drying, walk, walk.target_c - 20.0, 0.1, 0.1, 10.0)
    assert drying.seconds == 0.0


def test_a_hold_that_has_not_dried_keeps_the_setpoint_and_says_what_it_waits_for() -> None:
    walk = at_first_hold()
    for _ in range(4 * 3600):
        advance(walk, 1.0, 120.0, 1000.0, dry=False)
    assert (walk.segment, walk.setpoint_c, walk.waits_for) == (1, 120.0, "the lining to dry")
    drying = Drying()
    hold(drying, walk, [1.1] * 10)
    advance(walk, 1.0, 120.0, 1000.0, dry=True)
    assert walk.segment == 2
    assert left(drying, walk, 120.0) == DriedAt(120.0, 100.0, 1.1)
    assert from_record({"dried": [list(each) for each in drying.holds]}) == drying.holds


@pytest.mark.parametrize(
    ("holds", "dry"),
    [
        ([], False),
        ([DriedAt(340.0, 120.0, 1.0)], False),
        ([DriedAt(120.0, 120.0, 1.10), DriedAt(340.0, 120.0, 1.09)], True),
        ([DriedAt(120.0, 120.0, 1.10), DriedAt(340.0, 120.0, 1.02)], False),
        ([DriedAt(340.0, 120.0, 1.0), DriedAt(340.0, 120.0, 1.0)], False),
    ],
)
def test_dry_is_said_when_the_need_did_not_fall_from_one_hold_to_the_next(holds: list[DriedAt], dry: bool) -> None:
    assert is_dry(holds) is dry


def test_the_allowance_is_for_as_long_as_the_dry_out_may_last() -> None:
    dries = profile()
    assert nominal_duration_s(at_longest(dries)) == pytest.approx(dries.longest_s)
    holds = tuple(replace(each, until_dry=False) if isinstance(each, Hold) else each for each in dries.segments)
    assert allowance_wh(BENCH, dries) > 1.3 * allowance_wh(BENCH, replace(dries, segments=holds))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("rate_c_per_h = 80", "rate_c_per_h = 120"), "segment[3].rate_c_per_h is 120; allowed: up to drying_limit"),
        (("longest_h = 8", "longest_h = 11"), "longest_h is 11; allowed: up to 10 h in one stretch"),
        (("drying_limit_c_per_h = 100", ""), "drying_limit_c_per_h is None; allowed: a number above 0 °C/h"),
        (('until = "dry"', ""), "drying_limit_c_per_h is 100; allowed: only where a hold has until"),
        (("longest_h = 8", f"longest_h = 8\n{CHARGE}"), 'charge is "metal"; allowed: nothing in a dry-out'),
    ],
)  # fmt: skip
def test_a_dry_out_that_cannot_be_is_refused_by_its_field(change: tuple[str, str], said: str) -> None:
    with pytest.raises(InputRefused) as refused:
        profile_from_text(DRY_OUT.replace(*change), "dry-out.toml", BENCH)
    assert said in str(refused.value)


def test_a_dry_out_is_attended_and_over_before_the_night() -> None:
    hand = furnace_at_hand()
    hand.wait(1.0)
    hand.prepare(profile())
    firing = hand.memory.firing
    assert not before_the_night(firing)  # simulated
    firing.unlocking = Unlocking(counted=True)
    met = []
    for minute in (None, 5 * 60, 6 * 60, 14 * 60, 14 * 60 + 1):
        firing.unlocking.local_minute = minute
        (said,) = before_the_night(firing)
        met.append(said.met)
    assert met == [False, False, True, True, False]
    firing.unlocking = Unlocking(counted=False)
    hand.send(hand.start_command())
    assert firing.run is not None
    assert firing.run.caps.attended


def test_its_holds_in_words() -> None:
    assert segment_sentence(profile().segments[1]) == "Hold 1 h, then until the lining is dry."
