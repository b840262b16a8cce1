"""The scribe puts records on disk: what, when and how."""

import json
import math
from enum import Enum
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from supervisor.logbook.records import EventRow, FiringClosed
from supervisor.logbook.rows import as_json
from supervisor.logbook.scribe import KEEP_ITEMS, VIRTUAL_BATCH_MS
from tests.supervisor.logbook import (
    BOOT,
    UTC_MS,
    alarm,
    closed,
    command,
    count,
    event,
    opened,
    query,
    sample,
    samples,
    scribe_of,
    wait_for,
)


def test_an_event_is_on_disk_when_put_returns_and_takes_the_waiting_samples_along(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened()])
        scribe.put(samples(3))
        assert count(tmp_path, "sample") == 0
        ticket = scribe.put([event(2500, 1)])
        assert scribe.committed == ticket
        assert (count(tmp_path, "sample"), count(tmp_path, "event")) == (3, 1)


def test_samples_wait_for_their_batch_and_no_longer(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened()])
        seconds = VIRTUAL_BATCH_MS // 1000
        for row in samples(seconds):
            scribe.put([row])
        assert count(tmp_path, "sample") == 0
        ticket = scribe.put([sample(VIRTUAL_BATCH_MS)])
        assert count(tmp_path, "sample") == seconds + 1
        assert scribe.committed == ticket
        scribe.put([sample(VIRTUAL_BATCH_MS + 1000)])
    assert count(tmp_path, "sample") == seconds + 2, "closing writes what waits"


def test_more_at_once_than_memory_keeps_is_written_while_the_disk_takes_it(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened(), *samples(KEEP_ITEMS + 100)])
        assert scribe.lost_samples == 0
    assert count(tmp_path, "sample") == KEEP_ITEMS + 100


def test_nothing_is_a_ticket_too(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        assert scribe.put([]) == scribe.put(()) == scribe.committed == 0


def test_every_kind_of_record_is_kept_whole(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened(heat_number="A-087"), sample(250, hot_junction_c=None, raw_word=0xFFFFFFFF)])
        scribe.put([event(1000, 1, "question", asked="gate"), alarm(t_ms=1250, firing_id=1), command(1500, 1)])
        scribe.put([closed(2000)])
    assert query(tmp_path, "SELECT * FROM sample") == [
        ((1 << 32) + 250, 1, 250, None, 22.0625, 21.0625, 0.5, 0.25 / 3, 0x555555, "running", 0xFFFFFFFF, *[None] * 4)
    ]
    assert query(tmp_path, "SELECT * FROM event") == [
        (1, 1, 1000, UTC_MS, BOOT, "question", "command line", "command line", '{"asked": "gate"}')
    ]
    assert query(tmp_path, "SELECT * FROM alarm") == [
        (1, 1, 1250, UTC_MS, BOOT, "sensor-open/1", "sensor-open", "raised", 1, "open circuit", 1, "supervisor")
    ]
    assert query(tmp_path, "SELECT * FROM command") == [
        (1, 1, 1500, UTC_MS, BOOT, "c-1", "hold", "a phone", "page", 1, "Held at 351 °C.", '{"at_c": 351.0}')
    ]
    (firing,) = query(tmp_path, "SELECT * FROM firing")
    assert firing[:6] == (1, "Ingots, 2 kg", "A-087", "Ingots", "bench", "simulated")
    assert json.loads(firing[6]) == {"top_c": 760.0, "version": "0.1.0"}
    assert firing[7:11] == (BOOT, 100_000, UTC_MS, "unset")
    assert firing[13:17] == (2000, UTC_MS, "complete", None)
    assert json.loads(firing[17]) == {"peak_c": 751.25, "energy_wh": 1234.5}


@settings(max_examples=25)
@given(
    hot_c=st.none() | st.floats(-270, 1372),
    duty=st.floats(0, 1),
    energy_wh=st.floats(0, 1e6),
    t_ms=st.integers(0, 2**32 - 1),
    word=st.integers(0, 2**32 - 1),
    residual_k=st.none() | st.floats(-100, 100),
    mean_c=st.none() | st.floats(-270, 1372),
    second=st.none() | st.integers(0, 2**32 - 1),
)
def test_what_is_written_is_read_back_to_the_last_bit(
    tmp_path_factory: pytest.TempPathFactory,
    hot_c: float | None,
    duty: float,
    energy_wh: float,
    t_ms: int,
    word: int,
    residual_k: float | None,
    mean_c: float | None,
    second: int | None,
) -> None:
    path = tmp_path_factory.mktemp("log")
    row = sample(t_ms, hot_junction_c=hot_c, duty=duty, energy_wh=energy_wh, raw_word=word, residual_k=residual_k)
    row = row._replace(mean_c=mean_c, second_word=second, quarters=word & 0xFFFF)
    with scribe_of(path) as scribe:
        scribe.put([opened(), row])
    columns = "firing_id, t_ms, hot_junction_c, cold_junction_c, setpoint_c, duty, energy_wh, inputs, state, raw_word"
    assert query(path, f"SELECT {columns}, residual_k, mean_c, second_word, quarters FROM sample") == [tuple(row)]


def test_minutes_are_made_with_the_batch_that_ends_them(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened(), *samples(59), sample(59_000, hot_junction_c=None)])
        scribe.put([event(59_500, 1)])
        assert count(tmp_path, "minute") == 0
        scribe.put([sample(60_000), event(60_000, 1)])
        assert count(tmp_path, "minute") == 1
        scribe.put([sample(200_000, duty=1.0), closed(200_000)])
    rows = query(tmp_path, "SELECT * FROM minute ORDER BY id")
    assert [row[2] for row in rows] == [0, 1, 3], "no minute is made up for a gap"
    first = rows[0]
    hot_c = [20 + second / 4 for second in range(59)]
    assert first[:8] == (1 << 32, 1, 0, 60, 59, 20.0, pytest.approx(sum(hot_c) / 59), 34.5)
    assert first[8:] == (22.0625, pytest.approx(21 + 59 / 8), 0.5, pytest.approx(59 / 3))


def test_a_row_weighs_as_long_as_its_duty_lasted(tmp_path: Path) -> None:
    quick = [sample(10_000 + 250 * step, duty=1.0) for step in range(1, 5)]  # one second, four rows
    slow = [sample(1000 * second, duty=0.0) for second in range(60) if second != 11]
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened(), *sorted(quick + slow, key=lambda row: row.t_ms), closed(60_000)])
    assert query(tmp_path, "SELECT duty_mean FROM minute WHERE minute = 0") == [(pytest.approx(1 / 60),)]


def test_two_firings_one_after_the_other_keep_their_own_rows(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        for firing_id in (1, 2):
            scribe.put([opened(firing_id), *samples(90, firing_id)])
            scribe.put([closed(90_000, firing_id)])
    assert query(tmp_path, "SELECT firing_id, minute, samples FROM minute ORDER BY id") == [
        (1, 0, 60), (1, 1, 30), (2, 0, 60), (2, 1, 30),
    ]  # fmt: skip


def test_the_thread_writes_without_being_waited_for(tmp_path: Path) -> None:
    with scribe_of(tmp_path, threaded=True) as scribe:
        wait_for(scribe, scribe.put([opened(), *samples(5)]))
        ticket = scribe.put(samples(10)[5:])
        assert scribe.committed < ticket, "samples wait for their batch"
        wait_for(scribe, scribe.put([sample(15_000)]))
        assert count(tmp_path, "sample") == 11
        wait_for(scribe, scribe.put([event(15_250, 1)]))
        scribe.put([sample(16_000)])
        assert scribe.trouble is None
    assert count(tmp_path, "sample") == 12


def test_the_clock_is_written_at_start_hourly_at_steps_and_at_a_firings_ends(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.clock(10.0, UTC_MS, "saved")
        scribe.clock(11.0, UTC_MS + 1400, "saved")  # 0.4 s apart: jitter
        scribe.clock(20.0, UTC_MS + 10_600, "saved")
        scribe.clock(21.0, UTC_MS + 99_000, "saved")  # a clock that jumps about is written once in ten seconds
        scribe.clock(21.5, UTC_MS + 11_500, "network")
        scribe.put([opened(monotonic_s=30.0)])
        scribe.put([closed(5000)])
        scribe.clock(3621.0, UTC_MS + 3_611_000, "network")
        scribe.clock(3621.6, UTC_MS + 3_611_600, "network")
    rows = query(tmp_path, "SELECT monotonic_ms, quality, reason FROM clock ORDER BY id")
    assert rows == [
        (10_000, "saved", "start"),
        (20_000, "saved", "step"),
        (21_500, "network", "quality"),
        (30_000, "network", "firing opened"),
        (35_000, "network", "firing closed"),
        (3_621_600, "network", "hour"),
    ]
    assert query(tmp_path, "SELECT DISTINCT boot_id FROM clock") == [(BOOT,)]


def test_a_clock_set_in_the_firing_dates_it_anew_without_changing_a_row(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.clock(90.0, UTC_MS - 10_000, "saved")
        scribe.put([opened(1, monotonic_s=100.0), event(0, 1)])
        assert query(tmp_path, "SELECT started_utc_ms, clock_confirmed FROM firings") == [(UTC_MS, 0)]
        scribe.clock(200.0, UTC_MS + 86_500_000, "network")
    assert query(tmp_path, "SELECT started_utc_ms, clock_confirmed FROM firings") == [(UTC_MS + 86_400_000, 1)]
    assert query(tmp_path, "SELECT started_utc_ms, started_local_date FROM firing") == [(UTC_MS, "2026-03-01")]


class Colour(Enum):
    RED = "red"


def test_a_detail_that_json_cannot_say_is_written_as_near_as_it_gets() -> None:
    detail = {"nan": math.nan, "far": -math.inf, "path": Path("a"), "colour": Colour.RED, "set": {1}, "flag": True,
              Colour.RED: (1, None), "row": event(3, 1, "x", a=1)}  # fmt: skip
    assert json.loads(as_json(detail)) == {
        "nan": None, "far": None, "path": "a", "colour": "red", "set": [1], "flag": True, "red": [1, None],
        "row": {"firing_id": 1, "t_ms": 3, "kind": "x", "who": "command line", "where": "command line",
                "detail": {"a": 1}},
    }  # fmt: skip


def test_an_hour_of_a_firing_takes_a_third_of_a_megabyte(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened()])
        before = (tmp_path / "furnace.db").stat().st_size
        scribe.put(samples(3600))
        scribe.put([FiringClosed(1, 3_600_000, "complete", None, {})])
    assert (tmp_path / "furnace.db").stat().st_size - before < 350_000


def test_events_outside_a_firing_belong_to_none(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([EventRow(None, 250, "state", "supervisor", "start", {"state": "stopped"})])
    assert query(tmp_path, "SELECT firing_id, t_ms, boot_id FROM event") == [(None, 250, BOOT)]
