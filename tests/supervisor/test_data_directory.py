"""A data directory belongs to one furnace, one kind and one program, and does not forget that it forgot."""

import contextlib
import json
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from supervisor.logbook import database
from supervisor.logbook import directory as data_directory
from supervisor.logbook.directory import open_directory
from supervisor.logbook.left_open import PAST_UNKNOWN
from supervisor.logbook.place import LOCK_FILE, default_directory, is_being_written
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import AlarmRow
from supervisor.refusal import InputRefused
from tests.supervisor.logbook import event, query, scribe_of

HOLD_THE_LOCK = """
import sys
from pathlib import Path
from supervisor.logbook.directory import open_directory
with open_directory(Path(sys.argv[1]), backend="simulated", furnace="bench"):
    print("held", flush=True)
    sys.stdin.read()
"""

NO_NUMBER = '{"kind": "simulated", "furnace": "bench", "key": "k", "openings": "many"}'


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A directory that a simulated furnace has used before."""
    with scribe_of(tmp_path / "bench"):
        pass
    return tmp_path / "bench"


@contextlib.contextmanager
def another_program(path: Path) -> Iterator[subprocess.Popen[str]]:
    command = [sys.executable, "-c", HOLD_THE_LOCK, str(path), "run", "--simulated"]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "held\n"
        yield process
        process.kill()


def past_of(path: Path, backend: str = "simulated") -> str | None:
    with open_directory(path, backend=backend, furnace="bench") as directory:
        return directory.past


def standing(path: Path) -> list[str]:
    with open_log(path) as log:
        return [row["watch"] for row in log.standing_alarms()]


def test_the_second_program_is_refused_and_told_who_is_first(home: Path) -> None:
    with another_program(home) as first:
        assert is_being_written(home)
        with pytest.raises(InputRefused, match=rf"process {first.pid} \(.* run --simulated\); one program at a time"):
            past_of(home)


def test_a_killed_program_leaves_no_lock(home: Path) -> None:
    with another_program(home):
        pass
    assert not is_being_written(home)
    assert past_of(home) is None


def test_asking_whether_a_directory_is_written_never_gets_in_a_writers_way(home: Path) -> None:
    with (home / LOCK_FILE).open("rb"):
        assert not is_being_written(home)
        with open_directory(home, backend="simulated", furnace="bench"):
            assert is_being_written(home)
    assert not is_being_written(home / "nothing here")


@pytest.mark.parametrize(
    "lost", [None, data_directory.IDENTITY_FILE, database.FILE_NAME], ids=["nothing", "file", "log"]
)
@pytest.mark.parametrize(
    ("backend", "furnace", "sentence"),
    [
        ("pi", "bench", "was born simulated; a real furnace needs another data directory"),
        ("simulated", "workshop", "belongs to the furnace 'bench', not to 'workshop'"),
    ],
)
def test_the_other_kind_and_another_furnace_are_refused(
    home: Path, lost: str | None, backend: str, furnace: str, sentence: str
) -> None:
    if lost is not None:
        (home / lost).unlink()
    with (
        pytest.raises(InputRefused, match=sentence) as refused,
        open_directory(home, backend=backend, furnace=furnace),
    ):
        pass
    assert str(refused.value).count(". ") == 0, "one sentence"


def test_a_simulated_furnace_refuses_the_real_ones_directory(tmp_path: Path) -> None:
    with scribe_of(tmp_path / "a", backend="pi"):
        pass
    with pytest.raises(InputRefused, match="was born real; a simulated furnace needs another"):
        past_of(tmp_path / "a")


def test_opened_again_and_again_the_past_is_known(home: Path) -> None:
    for _ in range(3):
        assert past_of(home) is None  # looked into, never begun
        with scribe_of(home):
            pass
    assert standing(home) == []


def lose_the_log(home: Path) -> None:
    for file in home.glob("furnace.db*"):
        file.unlink()


def empty_the_log(home: Path) -> None:
    (home / "furnace.db").write_bytes(b"")


def put_an_older_copy_back(home: Path) -> None:
    older = home.with_name("older.db")
    shutil.copy(home / "furnace.db", older)
    with scribe_of(home):
        pass
    shutil.copy(older, home / "furnace.db")


def put_the_log_of_another_directory(home: Path) -> None:
    for _ in range(3):
        with scribe_of(home.with_name("other")):
            pass
    shutil.copy(home.with_name("other") / "furnace.db", home / "furnace.db")


def lose_the_identity(home: Path) -> None:
    (home / data_directory.IDENTITY_FILE).unlink()


@pytest.mark.parametrize(
    ("lose", "sentence"),
    [
        (lose_the_log, "The log was missing"),
        (empty_the_log, "The log was missing"),
        (put_an_older_copy_back, "The log is an older copy"),
        (put_the_log_of_another_directory, "The log came from another data directory"),
        (lose_the_identity, "was missing beside the log"),
    ],
)
def test_a_lost_past_stands_as_an_alarm_until_it_is_reset(home: Path, lose: object, sentence: str) -> None:
    assert callable(lose)
    lose(home)
    for _ in range(2):  # opened and given up before anything was written: still lost
        assert sentence in str(past_of(home))
    for _ in range(2):  # a restart is no reset
        with scribe_of(home):
            pass
        assert standing(home) == [PAST_UNKNOWN]
    with scribe_of(home) as scribe, open_log(home) as log:
        (row,) = log.standing_alarms()
        assert sentence in row["evidence"]
        scribe.put([AlarmRow(None, 1000, row["alarm"], PAST_UNKNOWN, "reset", 1, row["evidence"], True, "the button")])
    assert standing(home) == []
    assert past_of(home) is None


def test_a_new_directory_knows_nothing_of_a_real_furnace_and_all_of_a_simulated_one(tmp_path: Path) -> None:
    with scribe_of(tmp_path / "real", backend="pi"), scribe_of(tmp_path / "simulated"):
        pass
    assert standing(tmp_path / "real") == [PAST_UNKNOWN]
    assert standing(tmp_path / "simulated") == []


@pytest.mark.parametrize("place", ["/proc/furnace", "file/furnace"])
def test_a_directory_that_cannot_be_written_is_refused(tmp_path: Path, place: str) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(InputRefused, match="cannot be used as a data directory"):
        past_of(tmp_path / place)


def test_an_error_of_the_body_stays_what_it_is(home: Path) -> None:
    with pytest.raises(FileNotFoundError), open_directory(home, backend="simulated", furnace="bench"):
        (home / "nothing").read_text()


def test_a_log_that_cannot_be_read_is_refused_and_left_alone(home: Path) -> None:
    junk = b"no database " * 1000
    (home / "furnace.db").write_bytes(junk)
    with pytest.raises(InputRefused, match=r"cannot be read .* what the furnace did last is unknown"):
        past_of(home)
    assert (home / "furnace.db").read_bytes() == junk


@pytest.mark.parametrize("copy", [False, True])
def test_a_log_that_is_damaged_in_the_middle_is_refused_and_the_copy_beside_it_is_named(
    home: Path, *, copy: bool
) -> None:
    with scribe_of(home) as scribe:
        scribe.put([event(number, kind="remark", text="x" * 200) for number in range(200)])
    if copy:
        (home / "furnace-layout-1.db").write_bytes(b"")
    whole = bytearray((home / "furnace.db").read_bytes())
    middle = len(whole) // 2 // 1024 * 1024
    whole[middle : middle + 1024] = bytes(1024)
    (home / "furnace.db").write_bytes(whole)
    with pytest.raises(InputRefused, match=r"is damaged .*a new log begins, and asks for a reset") as refused:
        past_of(home)
    assert ("furnace-layout-1.db beside it is the newest copy" in str(refused.value)) is copy
    assert (home / "furnace.db").read_bytes() == whole, "left alone"


@pytest.mark.parametrize("text", ["", "{", "[1]", '{"kind": "simulated"}', NO_NUMBER])
def test_a_damaged_identity_is_refused(home: Path, text: str) -> None:
    (home / data_directory.IDENTITY_FILE).write_text(text)
    with pytest.raises(InputRefused, match="is damaged"):
        past_of(home)


def test_a_log_of_newer_software_is_refused_and_left_alone(home: Path) -> None:
    with contextlib.closing(sqlite3.connect(home / "furnace.db")) as connection:
        connection.execute("PRAGMA user_version = 99")
    with pytest.raises(InputRefused, match=f"layout 99, of a newer meltkeeper; allowed: up to {database.LAYOUT}"):
        past_of(home)
    with pytest.raises(InputRefused, match="has layout 99"), open_log(home):
        pass
    assert query(home, "PRAGMA user_version") == [(99,)]


def test_the_identity_can_be_read_by_people(home: Path) -> None:
    told = json.loads((home / data_directory.IDENTITY_FILE).read_text())
    assert (told["furnace"], told["kind"]) == ("bench", "simulated")
    assert query(home, "SELECT kind, furnace, openings FROM identity") == [("simulated", "bench", told["openings"])]


def test_the_usual_place_is_under_the_home_directory(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", "/somewhere")
    assert default_directory("workshop") == Path("/somewhere/.local/share/meltkeeper/workshop")
