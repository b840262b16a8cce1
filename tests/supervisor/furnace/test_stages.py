"""Stages of unlocking: from every changed part, overdue date and failed proof there is a way back, by proofs alone."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from supervisor.furnace.description import FurnaceDescription, NotFitted
from supervisor.furnace.file import read_furnace
from supervisor.furnace.parts import PART_OF_PROOF, PARTS
from supervisor.furnace.proofs import HOLDS_FOR, KINDS, of
from supervisor.furnace.stages import CAPS, DAY_MS, Changed, Proved, Stage, Unlocking, make, not_said, reached

WORKSHOP = read_furnace("workshop")
FULL = replace(
    WORKSHOP, wiring=WORKSHOP.wiring._replace(load_current=12, mains=15, tray_probe=4, sensors=(0, 1)), not_fitted=None
)
"""Everything is fitted."""
TODAY_MS = 1_800_000_000_000


def prove(unlocking: Unlocking, name: str, furnace: FurnaceDescription, result: str = "proved") -> None:
    kind = KINDS[name]
    make(unlocking, name, furnace, evidence="in a test", who="Ada", witnessed=not kind.stated, result=result)


def unlocked(furnace: FurnaceDescription = FULL) -> Unlocking:
    """Everything proved today."""
    unlocking = Unlocking(today_ms=TODAY_MS)
    for name in of(furnace):
        prove(unlocking, name, furnace)
    return unlocking


def change(unlocking: Unlocking, part: str) -> None:
    unlocking.changed.append(Changed(part, "a new one", "Ada", unlocking.today_ms, 3))


def way_back(unlocking: Unlocking, furnace: FurnaceDescription) -> list[str]:
    """Make whatever comes next until melts are unlocked; each is one that this stage permits."""
    made: list[str] = []
    while (now := unlocking.reached(furnace)).stage is not Stage.MELTS:
        following = now.next
        assert following is not None
        assert following.kind.opens == now.stage + 1  # it can be made where the furnace has fallen back to
        assert following.name not in made  # no circle
        made.append(following.name)
        prove(unlocking, following.name, furnace)
    assert not now.missing
    return made


def test_a_new_furnace_has_no_heat_and_gets_all_of_it_by_every_proof_in_order() -> None:
    unlocking = Unlocking(today_ms=TODAY_MS)
    assert unlocking.stage(FULL) is Stage.NONE
    made = way_back(unlocking, FULL)
    assert sorted(made) == sorted(name for name, kind in of(FULL).items() if not kind.only_after)  # none is skipped
    opens = [KINDS[name].opens for name in made]
    assert opens == sorted(opens)
    assert opens[0] == 1


@pytest.mark.parametrize("part", PARTS)
def test_a_changed_part_falls_back_to_the_stage_that_proves_it_and_no_proof_of_it_is_skipped(part: str) -> None:
    unlocking = unlocked()
    assert unlocking.stage(FULL) is Stage.MELTS
    change(unlocking, part)
    lowest = min(KINDS[proof].opens for proof in PARTS[part].proofs)
    assert unlocking.stage(FULL) == lowest - 1
    assert sorted(way_back(unlocking, FULL)) == sorted(PARTS[part].proofs)


def test_a_trip_of_the_earth_leakage_device_locks_heat_until_a_licensed_person_has_measured_the_dead_circuit() -> None:
    unlocking = unlocked()
    assert not unlocking.leaked
    change(unlocking, "earth-leakage-trip")
    assert "a new one" in unlocking.leaked
    assert unlocking.stage(FULL) is Stage.NONE
    following = unlocking.reached(FULL).next
    assert following is not None
    assert (following.name, following.kind.licensed) == ("insulation", True)
    prove(unlocking, "insulation", FULL, "failed")
    assert unlocking.leaked
    prove(unlocking, "insulation", FULL)
    assert not unlocking.leaked
    assert unlocking.stage(FULL) is Stage.MELTS
    change(unlocking, "earth-leakage-trip")  # again: an old measurement is none
    assert unlocking.leaked
    assert unlocking.stage(FULL) is Stage.NONE


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ("2.5 megohm at 500 V, by B. Berg, licensed", ""),
        ("2,5 megohm at 500 V, B. Berg, licence 117", ""),
        ("0.4 megohm at 500 V, by B. Berg, licensed", "0.4 megohm is below 1: nothing is heated by mains."),
        ("nan megohm at 500 V, by B. Berg, licensed", "nan megohm is below 1"),
        ("it is fine, licensed", "What was measured is 'it is fine, licensed'"),
        ("5 megohm at 500 V", "Nobody is named as licensed"),
    ],
)
def test_insulation_is_taken_in_megohms_from_a_licensed_person_alone(said: str, why: str) -> None:
    assert not_said("insulation", said, FULL).startswith(why)
    assert bool(not_said("insulation", said, FULL)) == bool(why)


@pytest.mark.parametrize("name", [name for name, kind in KINDS.items() if kind.due_days is not None])
def test_an_overdue_proof_falls_back_to_the_stage_that_makes_it(name: str) -> None:
    kind = KINDS[name]
    due_days = kind.due_days or 0.0
    holds_days = HOLDS_FOR[due_days]
    unlocking = unlocked()
    for days, stage, due in (
        (due_days - 1, 3, False),
        (due_days + 1, 3, True),
        (holds_days + 1, kind.opens - 1, False),
    ):
        unlocking.today_ms = TODAY_MS + round(days * DAY_MS)
        for other in of(FULL):
            if other != name:
                prove(unlocking, other, FULL)
        now = unlocking.reached(FULL)
        assert now.stage == stage, days
        assert [each.name for each in now.due] == [name] * due
    assert way_back(unlocking, FULL) == [name]


def test_the_yearly_proof_of_the_limiter_is_told_at_12_months_and_gates_at_15() -> None:
    assert (KINDS["limiter-trip"].due_days, HOLDS_FOR[365.0]) == (365.0, 456.0)
    assert 15 * 30.4 <= HOLDS_FOR[365.0] <= 15 * 30.5  # standards page: no start from 15 months


@given(
    happened=st.lists(
        st.one_of(
            st.sampled_from(sorted(PARTS)),
            st.sampled_from(sorted(KINDS)).map(lambda name: f"fails {name}"),
            st.integers(1, 600),
        ),
        max_size=8,
    )
)
def test_whatever_happens_there_is_a_way_to_melts_by_exactly_the_proofs_that_hold_no_more(
    happened: list[Any],
) -> None:
    unlocking = unlocked()
    for what in happened:
        if isinstance(what, int):
            unlocking.today_ms += what * DAY_MS
        elif what.startswith("fails "):
            prove(unlocking, what.removeprefix("fails "), FULL, "failed")
        else:
            change(unlocking, what)
    missing = {each.name for each in unlocking.reached(FULL).missing}
    assert set(way_back(unlocking, FULL)) == missing
    assert CAPS[unlocking.stage(FULL)].metal


@given(subset=st.sets(st.sampled_from(sorted(KINDS))))
def test_the_stage_is_below_every_proof_that_is_missing(subset: set[str]) -> None:
    unlocking = Unlocking(today_ms=TODAY_MS)
    for name in subset & set(of(FULL)):
        prove(unlocking, name, FULL)
    stage = unlocking.stage(FULL)
    assert all(KINDS[name].opens > stage for name in set(of(FULL)) - subset)


def test_what_an_input_can_witness_cannot_be_stated() -> None:
    for name, kind in KINDS.items():
        stated = Proved(name, "proved", False, kind.about(FULL), "I saw it", "Ada", TODAY_MS, 0)
        (now,) = [each for each in reached(FULL, [stated], [], TODAY_MS).standing if each.name == name]
        assert now.holds is (kind.stated or kind.either), name


def test_an_undecided_try_takes_nothing_away_and_gives_nothing() -> None:
    unlocking = Unlocking(today_ms=TODAY_MS)
    prove(unlocking, "key", FULL, "undecided")
    assert "key" in {each.name for each in unlocking.reached(FULL).missing}
    unlocking = unlocked()
    prove(unlocking, "key", FULL, "undecided")
    assert unlocking.stage(FULL) is Stage.MELTS


@pytest.mark.parametrize(
    ("changes", "again"),
    [
        ({"wiring": FULL.wiring._replace(lid=25)}, {"lid"}),
        ({"wiring": FULL.wiring._replace(permit=25)}, {"permit", "permit-racing", "killed", "halted", "unplugged"}),
        ({"limiter_c": 950.0}, {"limiter-setting"}),
        (
            {"wiring": FULL.wiring._replace(tray_probe=None), "not_fitted": NotFitted("Ada", ("tray_probe",))},
            {"not-fitted"},
        ),
    ],
)
def test_another_pin_or_setting_or_a_line_signed_as_not_fitted_is_proved_again(
    changes: dict[str, Any], again: set[str]
) -> None:
    unlocking, other = unlocked(), replace(FULL, **changes)
    assert {each.name for each in reached(other, unlocking.proved, [], TODAY_MS).missing} == again


def test_every_proof_but_those_by_date_or_statement_hangs_on_a_part_that_can_be_changed() -> None:
    assert set(KINDS) - set(PART_OF_PROOF) == {"not-fitted"}
    assert all(proof in KINDS for part in PARTS.values() for proof in part.proofs)
    assert {kind.opens for kind in KINDS.values()} == {1, 2, 3}
    assert all(kind.how and kind.shows_not for kind in KINDS.values())


def test_a_simulated_furnace_is_born_at_the_last_stage() -> None:
    assert Unlocking(counted=False).stage(WORKSHOP) is Stage.MELTS
    assert not Unlocking(counted=False).wanted("direction", WORKSHOP)


@pytest.mark.parametrize(
    ("said", "taken"), [("900", True), ("900 °C", True), ("950", False), ("nan", False), ("", False)]
)
def test_the_limiters_setting_is_the_one_of_the_furnace_file(said: str, taken: bool) -> None:
    assert (not_said("limiter-setting", said, WORKSHOP) == "") is taken
