"""Attendance: how long one may be away, what counts as a sign, and that no answer only ever lowers heat.

Stages of a watch alarm that nobody answers, and that a reset restarts the whole period: IMO resolution MSC.128(75),
Performance standards for a bridge navigational watch alarm system (2002), annex, 4.1 (cited from memory). The times are
the project's own and are no check.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from supervisor.firing.attendance import DEFAULT, RANGE_K, Attendance, Hazard, Periods, Seen, Stage, task_for

SOLID = Seen(
    heated=True,
    reading_c=400.0,
    gate_open=False,
    liquid=False,
    hands=False,
    tripped=False,
    readers_gone_s=None,
    why_no_phone="",
)
HOT = SOLID._replace(reading_c=700.0)
COLD_AND_OFF = SOLID._replace(heated=False, reading_c=80.0)


def attended(seen: Seen = SOLID, *, until_s: float = 0.0, periods: Periods = DEFAULT) -> Attendance:
    """Somebody has just pressed at 0 s, and it was looked at each second since."""
    attendance = Attendance(periods)
    attendance.look(seen, 0.0)
    attendance.sign(0.0)
    for second in range(1, round(until_s) + 1):
        attendance.look(seen, float(second))
    return attendance


@pytest.mark.parametrize(
    ("seen", "due_s"),
    [
        (SOLID, 1800.0),
        (SOLID._replace(reading_c=600.0), 1800.0),
        (SOLID._replace(reading_c=601.0), 900.0),
        (SOLID._replace(gate_open=True), 900.0),
        (SOLID._replace(liquid=True), 900.0),
        (SOLID._replace(hands=True), 300.0),
        (HOT._replace(hands=True), 300.0),
        (HOT._replace(heated=False), 900.0),
        (COLD_AND_OFF, None),
        (HOT._replace(tripped=True), None),
        (SOLID._replace(reading_c=None), 1800.0),
    ],
)
def test_the_time_between_signs_shortens_with_the_hazard(seen: Seen, due_s: float | None) -> None:
    assert attended(seen, until_s=2.0).due_s == due_s


def test_a_greater_hazard_shortens_what_is_left_and_a_smaller_one_gives_nothing_back() -> None:
    attendance = attended(until_s=300.0)
    attendance.look(HOT, 301.0)
    assert attendance.due_s == 301.0 + 900.0
    attendance.look(SOLID, 302.0)
    assert attendance.due_s == 301.0 + 900.0
    late = attended(until_s=1500.0)
    late.look(HOT, 1501.0)
    assert late.due_s == 1800.0  # never later than it was, and never at once


def test_a_reading_that_wobbles_about_600_changes_nothing_each_second() -> None:
    attendance = attended(HOT, until_s=1.0)
    for reading_c, hazard in ((601.0, Hazard.HOT), (599.0, Hazard.HOT), (591.0, Hazard.HOT), (589.0, Hazard.HEATING)):
        attendance.look(SOLID._replace(reading_c=reading_c), 2.0)
        assert attendance.hazard is hazard
    attendance.look(SOLID._replace(reading_c=599.0), 3.0)
    assert attendance.hazard is Hazard.HEATING


def test_an_open_lid_brings_the_sign_forward_and_a_shut_one_puts_it_back() -> None:
    attendance = attended(HOT, until_s=60.0)
    attendance.look(HOT._replace(hands=True), 61.0)
    assert attendance.due_s == 361.0
    attendance.sign(100.0)
    assert attendance.due_s == 400.0
    attendance.look(HOT, 101.0)
    assert attendance.due_s == 1000.0


def test_the_stages_follow_one_another_at_their_times() -> None:
    attendance = attended()
    after_s = {
        -1000.0: Stage.NOT_DUE,
        -301.0: Stage.NOT_DUE,
        -300.0: Stage.ASKED,
        -0.25: Stage.ASKED,
        0.0: Stage.DUE,
        30.0: Stage.PHONE,
        60.0: Stage.SOUNDER,
        120.0: Stage.SECOND,
        299.75: Stage.SECOND,
        300.0: Stage.HOLD,
        899.75: Stage.HOLD,
        900.0: Stage.END,
        1e6: Stage.END,
    }
    assert {s: attendance.stage(1800.0 + s) for s in after_s} == after_s


def test_in_a_hot_chamber_without_heat_nothing_is_held_or_ended() -> None:
    attendance = attended(HOT._replace(heated=False))
    assert attendance.stage(900.0 + 1e5) is Stage.SECOND


def test_three_answers_in_a_row_may_come_from_a_phone_then_it_takes_a_press() -> None:
    attendance = attended()
    for number in (1, 2, 3):
        due_s = attendance.due_s
        assert due_s is not None
        attendance.look(SOLID, due_s - 10.0)
        assert attendance.task is not None
        attendance.answer(due_s - 10.0)
        assert attendance.due_s == due_s - 10.0 + 1800.0
        assert attendance.phone_left == 3 - number
    assert attendance.due_s is not None
    attendance.look(SOLID, attendance.due_s - 10.0)
    assert attendance.task is None
    assert "only a press" in attendance.why_no_phone
    attendance.sign(attendance.due_s - 5.0)
    assert attendance.phone_left == 3


def test_from_first_liquid_on_the_time_runs_from_the_last_press_whatever_a_phone_answered() -> None:
    open_gate = SOLID._replace(gate_open=True)
    attendance = attended(open_gate, until_s=1.0)
    attendance.look(open_gate, 800.0)
    attendance.answer(800.0)
    attendance.look(open_gate, 801.0)
    assert attendance.due_s == 1700.0
    attendance.look(open_gate._replace(liquid=True), 802.0)
    assert attendance.due_s == 802.0 + 300.0  # the press was 13 min ago: asked for at once, not due at once
    early = attended(open_gate, until_s=1.0)
    early.look(open_gate._replace(liquid=True), 2.0)
    assert early.due_s == 900.0
    early.sign(100.0)
    early.look(open_gate._replace(liquid=True), 101.0)
    assert early.due_s == 1000.0


@pytest.mark.parametrize(
    ("seen", "words"),
    [
        (SOLID._replace(liquid=True), "Metal may be liquid"),
        (SOLID._replace(why_no_phone="No contact."), "Stay: No contact."),
        (SOLID._replace(reading_c=None), "not known"),
    ],
)
def test_a_phone_is_not_asked_where_it_could_not_know_or_could_not_come(seen: Seen, words: str) -> None:
    attendance = attended()
    attendance.look(seen, 1790.0)
    assert attendance.task is None
    assert words in attendance.why_no_phone


def test_once_it_is_held_only_a_press_counts() -> None:
    attendance = attended()
    attendance.look(SOLID, 1800.0 + 299.0)
    assert attendance.task is not None
    attendance.look(SOLID, 1800.0 + 300.0)
    assert attendance.task is None


def test_pages_that_have_gone_bring_the_sign_forward_after_a_phone_but_not_after_a_press() -> None:
    gone = SOLID._replace(readers_gone_s=2000.0)
    attendance = attended()
    attendance.look(gone, 2000.0)
    assert attendance.due_s == 1800.0  # a press is good for its whole period, whoever follows
    watched = attended(until_s=0.0)
    watched.look(SOLID, 1790.0)
    watched.answer(1790.0)
    watched.look(SOLID, 1999.0)
    assert watched.due_s == 1790.0 + 1800.0
    watched.look(gone, 2001.0)
    assert watched.due_s == 2060.0
    assert not watched.alone(2059.0)
    assert watched.alone(2060.0)
    watched.look(SOLID, 2061.0)  # a page is open again
    assert watched.due_s == 1790.0 + 1800.0
    watched.look(gone, 2062.0)
    watched.sign(2070.0)
    watched.look(gone, 2071.0)
    assert watched.due_s == 2070.0 + 1800.0


@given(number=st.integers(1, 10_000), reading_c=st.floats(20.0, 1200.0))
def test_a_task_has_one_right_range_and_the_reading_is_far_from_its_edges(number: int, reading_c: float) -> None:
    task = task_for(number, reading_c)
    assert [high - low for low, high in task.ranges] == [RANGE_K] * 3
    assert [low for low, _ in task.ranges[1:]] == [high for _, high in task.ranges[:-1]]
    right = task.right(reading_c)
    assert right is not None
    low_c, high_c = task.ranges[right]
    assert low_c + 25.0 <= reading_c <= high_c - 25.0


def test_the_right_range_is_at_another_place_from_task_to_task() -> None:
    places = [task_for(number, 500.0).right(500.0) for number in range(1, 31)]
    assert {places.count(place) for place in (0, 1, 2)} <= set(range(5, 16))
    assert all(places[n : n + 3] != [places[n]] * 3 for n in range(28))


def test_the_task_changes_before_the_reading_leaves_its_range() -> None:
    attendance = attended()
    attendance.look(SOLID, 1700.0)
    first = attendance.task
    assert first is not None
    attendance.look(SOLID._replace(reading_c=412.0), 1701.0)
    assert attendance.task is first
    attendance.look(SOLID._replace(reading_c=420.0), 1702.0)
    assert attendance.task is not None
    assert attendance.task.number > first.number


FACTS = st.sampled_from([SOLID, HOT, SOLID._replace(hands=True), SOLID._replace(gate_open=True)])
WHEN = st.integers(1, 900)


@settings(max_examples=200)
@given(
    presses=st.lists(st.tuples(WHEN, FACTS), min_size=1, max_size=12),
    missing=st.sets(st.integers(0, 11), min_size=1),
    later_s=st.integers(0, 4000),
)
def test_without_a_press_the_next_sign_is_never_due_later(
    presses: list[tuple[int, Seen]], missing: set[int], later_s: int
) -> None:
    answering, quiet, now_s = attended(), attended(), 0.0
    for number, (wait_s, seen) in enumerate(presses):
        now_s += wait_s
        answering.look(seen, now_s)
        quiet.look(seen, now_s)
        answering.sign(now_s)
        if number not in missing:
            quiet.sign(now_s)
        assert quiet.overdue_s(now_s + later_s) >= answering.overdue_s(now_s + later_s)


@settings(max_examples=200)
@given(
    acts=st.lists(
        st.tuples(WHEN, st.sampled_from(["press", "phone", "nothing"]), FACTS, st.booleans()), min_size=1, max_size=20
    )
)
def test_whatever_a_phone_answers_a_press_is_wanted_in_time(acts: list[tuple[int, str, Seen, bool]]) -> None:
    attendance, now_s, pressed_s, in_a_row = attended(), 0.0, 0.0, 0
    for wait_s, act, seen, liquid in acts:
        due_s, now_s = attendance.due_s, now_s + wait_s
        attendance.look(seen._replace(liquid=liquid), now_s)
        if act == "press":
            attendance.sign(now_s)
            pressed_s, in_a_row = now_s, 0
        elif act == "phone" and attendance.task is not None:
            assert not liquid
            assert attendance.stage(now_s) in (Stage.ASKED, Stage.DUE, Stage.PHONE, Stage.SOUNDER, Stage.SECOND)
            attendance.answer(now_s)
            in_a_row += 1
        elif due_s is not None and seen.hands:
            assert attendance.due_s is not None
            assert attendance.due_s <= max(due_s, now_s + 300.0)
        assert in_a_row <= 3
        assert attendance.due_s is not None
        assert attendance.due_s <= pressed_s + 4 * 1800.0 + 3 * 300.0
        assert attendance.due_s <= attendance.signed_s + 1800.0
