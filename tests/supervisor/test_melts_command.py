"""`meltkeeper melts`, as a person or a script uses it."""

import csv
import io
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from hardware.ports import Inputs
from supervisor.cli import COMMANDS, main
from supervisor.logbook.export import CSV_COLUMNS
from supervisor.logbook.reading import Firing, open_log
from tests.supervisor.logbook import alarm, closed, command, event, opened, sample, samples, scribe_of


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """Two firings, the second one running or interrupted."""
    with scribe_of(tmp_path / "data") as scribe:
        scribe.clock(90.0, 1_772_366_390_000, "network")
        scribe.put([opened(1, heat_number="A-087"), *samples(65), event(1000, 1, dip_c=712.0, text="[bold] words")])
        scribe.put([alarm(t_ms=2000, firing_id=1), command(3000, 1), closed(65_000)])
        scribe.put([opened(2), sample(0, 2, hot_junction_c=None, inputs=0b10 << 22)])
    return tmp_path / "data"


def meltkeeper(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words], env={"COLUMNS": "160"})


def test_the_list_is_for_people(home: Path) -> None:
    result = meltkeeper("melts", "list", "--data", home)
    assert result.exit_code == 0
    assert "simulated furnace bench" in result.stdout
    first, second = [line for line in result.stdout.splitlines() if "Ingots, 2 kg" in line]
    assert "interrupted" in first
    for word in ("A-087", "2026-03-01", "complete", "751 °C", "1234 Wh", "0:01:05"):
        assert word in second


def test_the_list_as_json_has_the_documented_names(home: Path, repository: Path) -> None:
    listed = json.loads(meltkeeper("melts", "list", "--json", "--data", home).stdout)
    assert [firing["state"] for firing in listed["firings"]] == ["interrupted", "complete"]
    assert set(listed["firings"][0]) == set(Firing._fields)
    manual = (repository / "docs" / "logbook.md").read_text(encoding="utf-8")
    for name in (*Firing._fields, *CSV_COLUMNS):
        assert f"`{name}`" in manual, name
    one = json.loads(meltkeeper("melts", "list", "--json", "--limit", "1", "--data", home).stdout)
    assert [firing["id"] for firing in one["firings"]] == [2]


def test_every_column_of_every_table_stands_in_the_manual(home: Path, repository: Path) -> None:
    manual = (repository / "docs" / "logbook.md").read_text(encoding="utf-8")
    with open_log(home) as log:
        columns = log._connection.execute(
            "SELECT t.name, c.name FROM sqlite_schema t, pragma_table_info(t.name) c"
            " WHERE t.type = 'table' AND t.name NOT LIKE '%sqlite%'"
        ).fetchall()
    assert len(columns) > 60
    missing = [
        (table, column) for table, column in columns if f"`{column}`" not in manual or f"`{table}`" not in manual
    ]
    assert missing == []


def test_one_firing_is_shown_with_all_that_happened_in_it(home: Path) -> None:
    text = meltkeeper("melts", "show", "A-087", "--data", home).stdout
    for said in ("A-087", "complete", "751.25 °C", "1234.5 Wh", "760 °C", "dip 712 °C", "[bold] words",
                 "sensor-open: open circuit", "accepted: Held at 351 °C."):  # fmt: skip
        assert said in text, said
    told = json.loads(meltkeeper("melts", "show", "1", "--json", "--data", home).stdout)
    assert set(told) == {"firing", "frozen", "events", "alarms", "commands", "minutes", "estimates", "metal"}
    assert told["metal"] is None  # the book holds nothing of it
    assert told["firing"]["heat_number"] == "A-087"
    assert [len(told[kind]) for kind in ("events", "alarms", "commands", "minutes")] == [1, 1, 1, 2]


def test_the_export_has_every_sample_to_the_last_bit(home: Path, tmp_path: Path) -> None:
    assert meltkeeper("melts", "export", "1", "--csv", tmp_path / "a.csv", "--data", home).exit_code == 0
    with (tmp_path / "a.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0]) == list(CSV_COLUMNS)
    for row, kept in zip(rows, samples(65), strict=True):
        assert float(row["t_s"]) == kept.t_ms / 1000
        assert float(row["energy_wh"]) == kept.energy_wh
        assert float(row["hot_junction_c"]) == kept.hot_junction_c
        assert int(row["raw_word"]) == kept.raw_word
        assert [row[line] for line in Inputs._fields] == ["closed"] * len(Inputs._fields)
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["a.csv"]


@pytest.mark.parametrize("words", [(), ("--csv",), ("--csv", "-")])
def test_the_export_goes_to_standard_output_when_no_file_is_named(home: Path, words: tuple[str, ...]) -> None:
    result = meltkeeper("melts", "export", "2", *words, "--data", home)
    (row,) = csv.DictReader(io.StringIO(result.stdout))
    assert row["hot_junction_c"] == ""
    assert (row["emergency_stop"], row["limiter"]) == ("not fitted", "open")


def test_a_file_that_is_there_is_left_alone(home: Path, tmp_path: Path) -> None:
    (tmp_path / "mine.csv").write_text("mine")
    result = meltkeeper("melts", "export", "1", "--csv", tmp_path / "mine.csv", "--data", home)
    assert (result.exit_code, (tmp_path / "mine.csv").read_text()) == (2, "mine")
    assert "exists and is left alone" in result.stderr


def test_a_file_without_a_name_and_more_firings_than_can_be_are_refused(home: Path) -> None:
    unnamed = meltkeeper("melts", "export", "1", "--csv", "", "--data", home)
    assert (unnamed.exit_code, unnamed.stderr) == (2, "The file is ''; allowed: its name, or - for standard output.\n")
    assert meltkeeper("melts", "list", "--limit", str(10**20), "--data", home).exit_code == 2


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("melts", "list", "--data", "nowhere"), "There is no log in nowhere"),
        (("melts", "show", "7"), "There is no firing 7"),
        (("melts", "export", "A-001"), "There is no firing A-001"),
        (("melts", "export", "1", "--csv", "/proc/no/such.csv"), "cannot be written: No such file"),
        (("melts", "list", "--limit", "0"), "0 is not in the range"),
        (("melt",), "No such command 'melt'"),
    ],
)
def test_what_cannot_be_used_is_refused_with_status_2_and_a_sentence(
    home: Path, words: tuple[str, ...], sentence: str
) -> None:
    result = meltkeeper(*words) if "--data" in words or len(words) == 1 else meltkeeper(*words, "--data", home)
    assert (result.exit_code, result.stdout) == (2, "")
    assert sentence in result.stderr


def test_an_empty_log_is_said_to_be_empty(tmp_path: Path) -> None:
    with scribe_of(tmp_path):
        pass
    assert meltkeeper("melts", "list", "--data", tmp_path).stdout == f"No firing yet in {tmp_path}.\n"


def test_it_reads_while_a_program_writes(home: Path) -> None:
    with scribe_of(home) as scribe:
        scribe.put([opened(3)])
        assert "running now" in meltkeeper("melts", "list", "--data", home).stdout
        assert meltkeeper("melts", "export", "1", "--data", home).exit_code == 0


def test_every_command_of_the_table_is_there(home: Path) -> None:
    text = meltkeeper("--help").stdout
    for name in COMMANDS:
        assert name in text
        assert meltkeeper(name, "--help").exit_code == 0
