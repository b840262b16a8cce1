"""Backups are made while the records are in use, count when verified, and are put back whole or not at all."""

import json
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from supervisor.book import lots
from supervisor.book.writing import open_book, read_book
from supervisor.cli import main
from supervisor.copies import backup as backups_
from supervisor.copies.backup import make
from supervisor.copies.restore import _stage, restore
from supervisor.logbook.backups import backups, last_good
from supervisor.logbook.directory import open_directory
from supervisor.logbook.left_open import PAST_UNKNOWN
from supervisor.logbook.reading import open_log
from supervisor.logbook.restoring import STAGED
from supervisor.logbook.verifying import verify
from supervisor.refusal import InputRefused
from tests.supervisor.logbook import UTC_MS, closed, count, event, opened, query, sample, samples, scribe_of

HOUR_MS = 3_600_000
TAKEN_MS = UTC_MS + HOUR_MS
NOW_MS = UTC_MS + 48 * HOUR_MS


def weigh_in(home: Path, kg: float) -> None:
    with open_book(home / "book.db", who="somebody", sent_from="command line", utc_ms=UTC_MS) as book:
        lots.add(book, kg, form="solid_offcut", name="off-cuts", alloy_name="6082", certainty="likely")


def lots_of(home: Path) -> int:
    with read_book(home / "book.db") as book:
        return len(book.rows("SELECT 1 FROM lot"))


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A furnace's records: one firing that ended cold, one lot, a profile, the person's contacts."""
    home = tmp_path / "home"
    with scribe_of(home) as scribe:
        scribe.put([opened(1, heat_number="A-001"), *samples(40), closed(40_000)])
    weigh_in(home, 2.0)
    (home / "profiles").mkdir()
    (home / "profiles" / "mine.toml").write_text("name = 'mine'\n")
    (home / "alerts.toml").write_text("# nobody\n")
    (home / "alerts.toml").chmod(0o600)
    return home


def test_a_backup_of_records_in_use_is_whole_and_says_what_it_holds(home: Path, tmp_path: Path) -> None:
    with scribe_of(home) as scribe:
        scribe.put([opened(2), *samples(30, 2), event(29_000, 2)])  # a firing goes on
        found = make(home, tmp_path / "stick", utc_ms=TAKEN_MS)
        scribe.put([sample(30_000, 2), event(30_000, 2)])
    assert (found.fault, found.furnace, found.kind) == ("", "bench", "simulated")
    assert set(found.files) == {"furnace.db", "book.db", "identity.json", "profiles/mine.toml", "alerts.toml"}
    assert count(found.path, "sample") == 70
    assert verify(found.path).fault == ""
    assert lots_of(found.path) == 1
    assert (found.path.stat().st_mode & 0o777, (found.path / "alerts.toml").stat().st_mode & 0o777) == (0o700, 0o600)
    assert [each.path for each in backups(tmp_path / "stick")] == [found.path]


def test_old_backups_go_and_the_last_good_one_stays(home: Path) -> None:
    made = [make(home, home / "backups", utc_ms=TAKEN_MS + 1000 * number, keep=3) for number in range(4)]
    assert [each.path for each in backups(home / "backups")] == [each.path for each in reversed(made[1:])]
    with sqlite3.connect(home / "furnace.db") as connection:
        connection.execute("DROP TRIGGER sample_never_changed")
        connection.execute("UPDATE sample SET duty = 0.75 WHERE t_ms = 7000")
    altered = [make(home, home / "backups", utc_ms=NOW_MS + 1000 * number, keep=2) for number in range(3)]
    assert "(firing 1, 7.00 s) was altered" in altered[0].fault
    found = last_good(home)
    assert found is not None
    assert found.path == made[-1].path
    assert [bool(each.fault) for each in backups(home / "backups")] == [True, False]


def test_what_is_put_back_is_both_files_and_the_past_counts_as_unknown(home: Path) -> None:
    found = make(home, home / "backups", utc_ms=TAKEN_MS)
    weigh_in(home, 3.0)
    with scribe_of(home) as scribe:
        scribe.put([opened(2), *samples(10, 2), closed(10_000, 2)])
    (home / "profiles" / "mine.toml").write_text("name = 'changed'\n")
    _, aside = restore(found.path, home, utc_ms=NOW_MS)
    assert (count(home, "firing"), lots_of(home)) == (1, 1)
    assert (home / "profiles" / "mine.toml").read_text() == "name = 'mine'\n"
    assert aside is not None
    assert (count(aside, "firing"), lots_of(aside)) == (2, 2)
    with scribe_of(home), open_log(home) as log:
        assert [row["watch"] for row in log.standing_alarms()] == [PAST_UNKNOWN]
    assert verify(home).fault == ""


def test_a_backup_of_the_same_run_makes_the_past_unknown_too(home: Path) -> None:
    found = make(home, home / "backups", utc_ms=TAKEN_MS)
    restore(found.path, home, utc_ms=NOW_MS)
    with open_directory(home, backend="simulated", furnace="bench") as directory:
        assert "older copy" in str(directory.past)


def break_the_list(found: Path) -> None:
    (found / "backup.json").write_text("{")


def flip_a_bit(found: Path) -> None:
    whole = bytearray((found / "furnace.db").read_bytes())
    whole[len(whole) // 2] ^= 4
    (found / "furnace.db").write_bytes(whole)


def lose_the_book(found: Path) -> None:
    (found / "book.db").unlink()


@pytest.mark.parametrize(
    ("harm", "sentence"),
    [
        (break_the_list, "is no backup"),
        (flip_a_bit, "furnace.db is not as it was written; this backup cannot be used"),
        (lose_the_book, "book.db is not as it was written"),
    ],
)
def test_a_backup_that_is_not_whole_is_never_put_back(home: Path, harm: Callable[[Path], None], sentence: str) -> None:
    found = make(home, home / "backups", utc_ms=TAKEN_MS)
    before = (home / "furnace.db").read_bytes()
    harm(found.path)
    with pytest.raises(InputRefused, match=sentence):
        restore(found.path, home, utc_ms=NOW_MS)
    assert (home / "furnace.db").read_bytes() == before


def test_nothing_is_put_back_under_a_supervisor_or_beside_a_furnace_that_may_be_hot(home: Path) -> None:
    found = make(home, home / "backups", utc_ms=TAKEN_MS)
    with scribe_of(home) as scribe:
        with pytest.raises(InputRefused, match="is being written by process"):
            restore(found.path, home, utc_ms=NOW_MS)
        scribe.put([opened(2), sample(1000, 2, hot_junction_c=640.0)])
    with pytest.raises(InputRefused, match="no closing record"):
        restore(found.path, home, utc_ms=NOW_MS)
    with scribe_of(home) as scribe:
        scribe.put([closed(2000, 2, "interrupted")])
    with pytest.raises(InputRefused, match="it read 640 °C, less than a day ago"):
        restore(found.path, home, utc_ms=UTC_MS + HOUR_MS)
    restore(found.path, home, utc_ms=UTC_MS + 25 * HOUR_MS)
    assert count(home, "firing") == 1


def test_the_backup_of_another_furnace_is_refused(home: Path, tmp_path: Path) -> None:
    found = make(home, tmp_path / "stick", utc_ms=TAKEN_MS)
    with open_directory(tmp_path / "other", backend="simulated", furnace="workshop"):
        pass
    with pytest.raises(InputRefused, match="is of the simulated furnace 'bench'"):
        restore(found.path, tmp_path / "other", utc_ms=NOW_MS)


@pytest.mark.parametrize("moved", [(), ("book.db",), ("book.db", "furnace.db", "profiles/mine.toml", "alerts.toml")])
def test_a_restore_that_was_cut_short_is_finished_by_whoever_opens_the_directory_next(
    home: Path, moved: tuple[str, ...]
) -> None:
    found = make(home, home / "backups", utc_ms=TAKEN_MS)
    weigh_in(home, 3.0)
    _stage(found, home, "before-restore-x")
    for name in moved:
        (home / name).unlink()
        (home / STAGED / "files" / name).rename(home / name)
    with open_directory(home, backend="simulated", furnace="bench"):
        pass
    assert lots_of(home) == 1
    assert not (home / STAGED).exists()
    assert (home / "before-restore-x").is_dir()


def test_without_room_nothing_is_left_and_earlier_backups_stay(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = make(home, home / "backups", utc_ms=TAKEN_MS)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(shutil, "copy2", full)
    with pytest.raises(InputRefused, match=r"was not backed up .*No space left"):
        make(home, home / "backups", utc_ms=NOW_MS)
    assert [each.name for each in (home / "backups").iterdir()] == [first.path.name]


@pytest.mark.parametrize("file", ["furnace.db", "book.db"])
def test_where_a_file_cannot_be_opened_the_last_good_backup_is_offered(home: Path, file: str) -> None:
    found = make(home, home / "backups", utc_ms=TAKEN_MS)
    (home / file).write_bytes(b"no database" * 1000)
    words = ("melts", "verify", "--data", str(home))
    said = CliRunner().invoke(main, words)
    assert said.exit_code == 2
    assert f"`meltkeeper restore {found.path}` puts it back" in said.output
    done = CliRunner().invoke(main, ["restore", "--data", str(home), "--looked"])
    assert done.exit_code == 0, done.output
    assert CliRunner().invoke(main, words).exit_code == 0


def test_the_commands_say_what_they_did(home: Path) -> None:
    done = CliRunner().invoke(main, ["backup", "--data", str(home), "--json"])
    (told,) = json.loads(done.output)["backups"]
    assert told["log"]["rows"] == sum(n for (n,) in query(home, "SELECT n FROM seal"))
    listed = CliRunner().invoke(main, ["backup", "--data", str(home), "--list"])
    assert listed.output.count("verified") == 1
    assert backups_.KEEP > 1
