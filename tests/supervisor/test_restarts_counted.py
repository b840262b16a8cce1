"""How often a supervisor was begun anew of late: kills count, good endings, old ones and other boots do not."""

from pathlib import Path

import pytest

from supervisor.logbook.restarts import FILE, MOST_RESTARTS, WITHIN_S, Counter


def test_the_fourth_restart_within_ten_minutes_is_one_too_many(tmp_path: Path) -> None:
    counter = Counter(tmp_path)
    begun = [counter.begin("boot-1", 1000.0 + 60.0 * number, 0) for number in range(6)]
    assert [each.restarts for each in begun] == [0, 1, 2, 3, 4, 5]
    assert [each.too_often for each in begun] == [False] * (MOST_RESTARTS + 1) + [True, True]


def test_restarts_that_lie_further_apart_are_none_too_many(tmp_path: Path) -> None:
    counter = Counter(tmp_path)
    begun = [counter.begin("boot-1", 1000.0 + (WITHIN_S + 1.0) * number, 0) for number in range(6)]
    assert {each.restarts for each in begun} == {0}


def test_a_good_ending_begins_the_count_anew(tmp_path: Path) -> None:
    counter = Counter(tmp_path)
    for number in range(3):
        counter.begin("boot-1", 1000.0 + number, 0)
    counter.end_well()
    assert counter.begin("boot-1", 1010.0, 0).restarts == 0


@pytest.mark.parametrize(("apart_s", "too_often"), [(30.0, True), (86_400.0, False), (-3600.0, False)])
def test_a_machine_that_falls_over_again_and_again_counts_and_power_cuts_days_apart_do_not(
    tmp_path: Path, apart_s: float, *, too_often: bool
) -> None:
    counter = Counter(tmp_path)
    begun = [counter.begin(f"boot-{number}", 20.0, round(apart_s * 1000 * number)) for number in range(5)]
    assert begun[-1].too_often is too_often


@pytest.mark.parametrize("text", ["", "{", "[1]", '{"begun": [["b"]], "ended_well": false}', '{"begun": 3}'])
def test_a_damaged_count_counts_nothing(tmp_path: Path, text: str) -> None:
    (tmp_path / FILE).write_text(text)
    assert Counter(tmp_path).begin("boot-1", 5.0, 0).restarts == 0
