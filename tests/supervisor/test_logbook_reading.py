"""What readers get: lists, curves with their gaps, and what an earlier run left open."""

import contextlib
import re
import sqlite3
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hardware.ports import Inputs, Level
from supervisor.logbook.inputs import input_levels
from supervisor.logbook.left_open import closed_after_reset, found_open
from supervisor.logbook.reading import open_log
from supervisor.refusal import InputRefused
from tests.supervisor.logbook import alarm, closed, command, event, opened, sample, samples, scribe_of


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """Three firings: complete, stopped, and one that was never closed."""
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened(1, heat_number="A-087"), *samples(130), event(1000, 1, said="yes"), closed(130_000)])
        scribe.put([opened(2), *samples(10, 2), closed(10_000, 2, "stopped"), event(0)])
        scribe.put([opened(3, heat_number="A-088"), *samples(20, 3), alarm(t_ms=5000, firing_id=3), command(6000, 3)])
    return tmp_path


def test_firings_are_listed_the_newest_first(home: Path) -> None:
    with open_log(home) as log:
        assert [(firing.id, firing.state) for firing in log.firings()] == [
            (3, "interrupted"), (2, "stopped"), (1, "complete"),
        ]  # fmt: skip
        assert [firing.id for firing in log.firings(limit=1)] == [3]
        assert [firing.id for firing in log.firings(before_id=3, limit=1)] == [2]
        assert log.next_firing_id() == 4


def test_one_firing_is_found_by_number_and_by_heat_number(home: Path) -> None:
    with open_log(home) as log:
        by_heat_number = log.firing("A-087")
        assert by_heat_number == log.firing(1) == log.firing("1")
        assert (by_heat_number.peak_c, by_heat_number.results["energy_wh"]) == (751.25, 1234.5)
        assert (log.firing(3).lasted_s, log.firing(3).results) == (19.0, {})
        assert log.frozen(1) == {"top_c": 760.0, "version": "0.1.0"}
        assert log.frozen(9) == {}


@pytest.mark.parametrize("asked", [4, 0, "A-099", "9" * 30, ""])
def test_a_firing_that_is_not_there_is_refused_in_a_sentence(home: Path, asked: int | str) -> None:
    with open_log(home) as log, pytest.raises(InputRefused, match=f"There is no firing {asked} in .*go up to 3"):
        log.firing(asked)


def test_what_happened_is_told_of_one_firing_or_of_all(home: Path) -> None:
    with open_log(home) as log:
        (told,) = log.events(1)
        assert (told["t_ms"], told["kind"], told["detail"]) == (1000, "note", {"said": "yes"})
        assert [row["firing_id"] for row in log.events()] == [1, None]
        assert [row["firing_id"] for row in log.events(limit=1)] == [None]
        assert [row["step"] for row in log.alarms(3)] == ["raised"]
        assert [row["sentence"] for row in log.commands(3)] == ["Held at 351 °C."]
        assert [row["minute"] for row in log.minutes(1)] == [0, 1, 2]


def test_a_firing_is_open_while_its_program_runs_and_interrupted_afterwards(home: Path) -> None:
    with scribe_of(home) as scribe:
        scribe.put([opened(4)])
        with open_log(home) as log:
            assert log.firing(4).state == "open"
    with open_log(home) as log:
        assert log.firing(4).state == "interrupted"


def test_a_firing_left_open_is_recorded_once_and_stands_until_the_reset(home: Path) -> None:
    with open_log(home) as log:
        (left,) = log.left_open()
    assert (left.firing_id, left.heat_number, left.last_t_ms, left.last_hot_junction_c) == (3, "A-088", 19_000, 24.75)
    for expected in (1, 0):  # the next start, and one more
        with scribe_of(home) as scribe:
            with open_log(home) as log:
                told = found_open(log.left_open())
            assert len(told) == expected
            scribe.put(told)
            with open_log(home) as log:
                assert log.firing(3).state == "interrupted", "not open, although a program runs"
                assert [firing.firing_id for firing in log.left_open()] == [3]
    with scribe_of(home) as scribe:
        with open_log(home) as log:
            scribe.put(closed_after_reset(log.left_open()))
        with open_log(home) as log:
            assert log.left_open() == []
            assert log.firing(3).state == "interrupted"
            assert [row["samples"] for row in log.minutes(3)] == [20]


def test_alarms_stand_until_they_are_reset(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([alarm("raised", name="a/1"), alarm("raised", name="b/1"), alarm("returned", name="a/1")])
        scribe.put([alarm("acknowledged", name="b/1"), alarm("reset", name="a/1")])
    with open_log(tmp_path) as log:
        assert [(row["alarm"], row["step"]) for row in log.standing_alarms()] == [("b/1", "acknowledged")]


def test_samples_come_as_recorded_from_any_stretch(home: Path) -> None:
    with open_log(home) as log:
        assert [row["t_s"] for row in log.samples(1, from_s=2, to_s=4)] == [2.0, 3.0, 4.0]
        assert log.samples(1, from_s=1e9) == []
        assert len(log.samples(1)) == 130
        assert log.samples(9) == []


def test_a_gap_is_a_point_without_values(tmp_path: Path) -> None:
    rows = [sample(1000 * second) for second in [*range(10), *range(20, 30)]]
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened(), *rows, closed(30_000)])
    with open_log(tmp_path) as log:
        points = log.strip(1)
    assert [point.t_s for point in points] == [second + 1.0 for second in range(0, 30, 2)]
    assert [point.t_s for point in points if point.duty is None] == [11.0, 13.0, 15.0, 17.0, 19.0]
    assert points[5][1:] == (None,) * 7


def test_a_sensor_without_a_reading_leaves_the_other_values_standing(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened(), *(sample(1000 * second, hot_junction_c=None) for second in range(10))])
    with open_log(tmp_path) as log:
        assert [(point.hot_junction_mean_c, point.duty) for point in log.strip(1)] == [(None, 0.5)] * 5


def test_a_firing_without_samples_has_no_curve(home: Path) -> None:
    with open_log(home) as log:
        assert log.strip(9) == []


@settings(max_examples=30)
@given(
    seconds=st.lists(st.integers(0, 3000), min_size=1, max_size=200, unique=True),
    jitter=st.randoms(use_true_random=False),
    points=st.integers(1, 500),
)
def test_no_reading_is_missing_from_a_curve(
    tmp_path_factory: pytest.TempPathFactory, seconds: list[int], jitter: object, points: int
) -> None:
    path = tmp_path_factory.mktemp("log")
    assert hasattr(jitter, "randint")
    rows = [sample(1000 * second + jitter.randint(0, 240)) for second in sorted(seconds)]
    with scribe_of(path) as scribe:
        scribe.put([opened(), *rows])
    with open_log(path) as log:
        curve = log.strip(1, points=points)
    readings = [row.hot_junction_c for row in rows if row.hot_junction_c is not None]
    least = [point.hot_junction_min_c for point in curve if point.hot_junction_min_c is not None]
    greatest = [point.hot_junction_max_c for point in curve if point.hot_junction_max_c is not None]
    assert len(curve) <= points
    assert (min(least), max(greatest)) == (min(readings), max(readings))
    assert (curve[0].duty, curve[-1].duty) == (0.5, 0.5)


def test_an_unbroken_firing_shows_no_gap_at_any_width(tmp_path: Path) -> None:
    rows = [sample(1000 * second + (250 if second % 3 else 0)) for second in range(600)]
    with scribe_of(tmp_path) as scribe:
        scribe.put([opened(), *rows])
    with open_log(tmp_path) as log:
        for points in (1, 7, 100, 299, 300, 1000):
            assert all(point.duty is not None for point in log.strip(1, points=points)), points


def test_readers_cannot_write(home: Path) -> None:
    with pytest.raises(InputRefused, match="readonly"), open_log(home) as log:
        log._connection.execute("DELETE FROM event")


def test_a_log_is_read_while_it_is_written(home: Path) -> None:
    with scribe_of(home) as scribe, open_log(home) as log:
        scribe.put([opened(4), event(0, 4)])
        assert log.firing(4).state == "open"


def test_the_copy_that_the_manual_shows_is_whole_while_a_program_writes(home: Path, repository: Path) -> None:
    manual = (repository / "docs" / "logbook.md").read_text(encoding="utf-8")
    found = re.search(r"sqlite3 'file:furnace.db(\?\S+)' \"(VACUUM INTO) '/tmp/copy.db'\"", manual)
    assert found
    with scribe_of(home) as scribe:
        scribe.put([opened(4), *samples(700, 4), event(0, 4)])
        address = f"{(home / 'furnace.db').as_uri()}{found[1]}"
        with contextlib.closing(sqlite3.connect(address, uri=True)) as connection:
            connection.execute(f"{found[2]} ?", (str(home / "copy.db"),))
    with contextlib.closing(sqlite3.connect(home / "copy.db")) as copy:
        assert copy.execute("SELECT count(*) FROM samples WHERE firing_id = 4").fetchone() == (700,)


def test_a_stopped_log_is_read_where_nothing_can_be_written(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The web user may not make the -shm file; the file alone is the whole log once its writer has closed it."""
    assert sorted(path.name for path in home.glob("furnace.db*")) == ["furnace.db"]
    connect = sqlite3.connect

    def without_permission(address: str, **options: bool) -> sqlite3.Connection:
        if "immutable=1" not in address:
            raise sqlite3.OperationalError("attempt to write a readonly database")
        return connect(address, **options)  # type: ignore[call-overload, no-any-return]

    monkeypatch.setattr(sqlite3, "connect", without_permission)
    with open_log(home) as log:
        assert len(log.firings()) == 3
    (home / "furnace.db-wal").touch()
    with pytest.raises(InputRefused, match="cannot be read: attempt to write a readonly database"), open_log(home):
        pass


def test_a_directory_without_a_log_is_refused_and_nothing_is_made(tmp_path: Path) -> None:
    with pytest.raises(InputRefused, match="There is no log in"), open_log(tmp_path):
        pass
    assert list(tmp_path.iterdir()) == []


@given(levels=st.tuples(*[st.sampled_from([Level.OPEN, Level.CLOSED, Level.NOT_FITTED])] * len(Inputs._fields)))
def test_input_lines_are_two_bits_each_in_the_order_of_the_hardware(levels: tuple[Level, ...]) -> None:
    codes = {Level.OPEN: 0, Level.CLOSED: 1, Level.NOT_FITTED: 2}
    inputs = sum(codes[level] << 2 * place for place, level in enumerate(reversed(levels)))
    assert input_levels(inputs) == Inputs(*levels)._asdict()


def test_bits_that_mean_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="inputs is 12; line mains has no level 3"):
        input_levels(12)
