"""What a firing says of the furnace is reckoned once from its log, and again when a voltage was read since."""

from pathlib import Path
from typing import Any

import pytest

from supervisor.book.writing import open_book
from supervisor.care.drying import next_stretch, schedule
from supervisor.care.keeping import all_figures, dried, enter, entries, reckon_missing
from supervisor.care.summary import care
from supervisor.furnace.file import read_furnace
from supervisor.furnace.stages import Changed
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import FiringClosed, PartRow, SampleRow
from supervisor.refusal import InputRefused
from tests.supervisor.logbook import opened, sample, scribe_of

WORKSHOP = read_furnace("workshop")
LASTED_MS = 2_700_000
MAINS = 0.9
DAY_MS = 86_400_000


def rows(firing_id: int) -> list[SampleRow]:
    """45 minutes at a duty of 0.15 in windows of 5 s: the relay is on for three quarters of a second in each.

    Every fifth minute has the rows of a finding, four a second: each the relay in its own quarter but the last one.
    """
    found: list[SampleRow] = []
    for second in range(LASTED_MS // 1000):
        begins = second % 5 == 0
        mean = 0.75 if begins else 0.0
        wh = MAINS**2 * WORKSHOP.full_power_w * 0.15 * (second + 1) / 3600.0
        if second // 60 % 5 == 0:
            for quarter in (1, 2, 3):
                found.append(
                    sample(1000 * second + 250 * quarter, firing_id, duty=float(begins), energy_wh=wh, mean_c=None)
                )
        found.append(sample(1000 * (second + 1), firing_id, duty=mean, energy_wh=wh, mean_c=300.0))
    return found


def results(**more: Any) -> dict[str, Any]:
    ordered_wh = 0.15 * WORKSHOP.full_power_w * LASTED_MS / 3_600_000
    return {"ordered_wh": ordered_wh, "metered_wh": MAINS**2 * ordered_wh, "peak_c": 320.0, **more}


@pytest.fixture
def data(tmp_path: Path) -> Path:
    with scribe_of(tmp_path) as scribe:
        for number in (1, 2):
            scribe.put(
                [
                    opened(number),
                    *rows(number),
                    FiringClosed(number, LASTED_MS, "complete", None, results(relay_operations=360)),
                ]
            )
    return tmp_path


def test_the_resistance_of_a_firing_is_right_also_where_findings_left_four_rows_a_second(
    data: Path,
) -> None:
    hot_ohm = WORKSHOP.supply_v**2 / WORKSHOP.full_power_w
    with open_log(data) as log, open_book(data / "book.db", who="Ada", sent_from="test", utc_ms=5 * DAY_MS) as book:
        assert reckon_missing(log, book, WORKSHOP) == 2
        assert reckon_missing(log, book, WORKSHOP) == 0
        (first, _) = all_figures(log, book)
        assert first.element_ohm is None
        assert first.element is not None
        assert first.element.apparent_ohm == pytest.approx(hot_ohm / MAINS**2)
        assert first.relay_operations == 360
        book.utc_ms += DAY_MS
        enter(book, "mains voltage", value=MAINS * WORKSHOP.supply_v, firing_id=1, detail={"t_s": 900.0})
        assert reckon_missing(log, book, WORKSHOP) == 1
        (first, second) = all_figures(log, book)
        assert first.element_ohm == pytest.approx(hot_ohm, rel=0.006)  # one window at the edge
        assert second.element_ohm is None


def test_two_voltages_read_within_minutes_say_the_same_as_one(data: Path) -> None:
    hot_ohm = WORKSHOP.supply_v**2 / WORKSHOP.full_power_w
    with open_log(data) as log, open_book(data / "book.db", who="Ada", sent_from="test", utc_ms=5 * DAY_MS) as book:
        for at_s in (1200.0, 900.0):
            enter(book, "mains voltage", value=MAINS * WORKSHOP.supply_v, firing_id=1, detail={"t_s": at_s})
        reckon_missing(log, book, WORKSHOP)
        assert all_figures(log, book)[0].element_ohm == pytest.approx(hot_ohm, rel=0.006)


def test_what_is_known_is_of_the_parts_in_use(data: Path) -> None:
    with scribe_of(data) as scribe:
        scribe.put([PartRow(Changed("sensor", "a new one", "Ada", 1, 1), "test")])
    with open_log(data) as log, open_book(data / "book.db", who="Ada", sent_from="test", utc_ms=5 * DAY_MS) as book:
        reckon_missing(log, book, WORKSHOP)
        found = care(log, book, 5 * DAY_MS)
    assert [each.firing_id for each in found.sensor] == [2]
    assert [each.firing_id for each in found.element] == [1, 2]
    assert found.lives[0].operations == 720
    assert not found.unreckoned


def test_what_the_record_says_of_drying_is_told_and_gone_on_from(tmp_path: Path) -> None:
    of = schedule(["firebrick"], 13.0, WORKSHOP.top_c)
    said = []
    with scribe_of(tmp_path) as scribe:
        for number, holds in enumerate(
            ([[120, 150, 1.2], [340, 100, 1.05]], [[120, 100, 1.0], [340, 100, 1.0]]), start=1
        ):
            scribe.put([opened(number), FiringClosed(number, LASTED_MS, "complete", None, results(dried=holds))])
            with open_log(tmp_path) as log, open_book(tmp_path / "book.db", who="", sent_from="", utc_ms=1) as book:
                said.append((care(log, book, DAY_MS).dried, next_stretch(of, dried(log), 8.0, "x") is None))
    assert "1 stretch on record, the last held at 120 °C (150 min), 340 °C (100 min); not called dry yet" in said[0][0]
    assert "2 stretches on record" in said[1][0]
    assert said[1][0].endswith("the need of power did not fall from hold to hold: dry.")
    assert [dry for _, dry in said] == [False, True]


def test_statements_are_dated_signed_and_within_their_limits(data: Path) -> None:
    with open_book(data / "book.db", who="Ada", sent_from="test", utc_ms=7) as book:
        enter(book, "cold ohms", value=21.4, note="B. Berg, licensed")
        with pytest.raises(InputRefused, match="mains voltage is 2300; allowed: 90 to 480 V"):
            enter(book, "mains voltage", value=2300)
        with pytest.raises(InputRefused, match="ice check is None"):
            enter(book, "ice check")
        (kept,) = entries(book)
        assert (kept.kind, kept.value, kept.who, kept.utc_ms) == ("cold ohms", 21.4, "Ada", 7)
