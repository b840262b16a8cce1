"""`meltkeeper rehearse` as a person types it: what it prints, refuses and writes."""

import csv
import io
import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from supervisor.cli import main
from supervisor.logbook.reading import open_log

SHORT = """
name = "Warm a mould"
top_c = 60
longest_h = 1

[[segment]]
ramp_to_c = 60
rate_c_per_h = 1200

[[segment]]
hold_min = 1
"""


@pytest.fixture
def profile(tmp_path: Path) -> Path:
    file = tmp_path / "short.toml"
    file.write_text(SHORT, encoding="utf-8")
    return file


def rehearse(*words: str | Path) -> Result:
    return CliRunner().invoke(main, ["rehearse", *map(str, words)])


def test_one_object_with_the_figures_of_the_firing(profile: Path, tmp_path: Path) -> None:
    result = rehearse(profile, "--json", "--data", tmp_path / "log")
    assert result.exit_code == 0, result.output
    report = json.loads(result.stdout)
    assert report["state"] == "complete"
    assert report["alarms"] == []
    assert report["first_cause"] is None
    assert report["bus_reads"] == report["cycles"]
    assert report["simulated"] is True
    with open_log(tmp_path / "log") as log:
        firing = log.firings()[0]
    assert (firing.state, firing.backend, firing.name) == ("complete", "simulated", "Warm a mould")


def test_every_name_of_the_object_stands_in_the_manual(profile: Path, repository: Path) -> None:
    report = json.loads(rehearse(profile, "--json").stdout)
    manual = (repository / "docs/profiles.md").read_text(encoding="utf-8")
    for name in (*report, *report["forecast"]):
        assert f"`{name}`" in manual, name


def test_the_forecast_comes_first_and_costs_what_the_price_says(profile: Path) -> None:
    lines = rehearse(profile, "--price", "0.5").stdout.splitlines()
    found = re.match(
        r"Forecast \(by the data sheets alone, so roughly\): ([0-9.]+) kWh, costing ([0-9]+\.[0-9]+)(?: \w+)?\.",
        lines[0],
    )
    assert found is not None, lines[0]
    assert abs(float(found[2]) - 0.5 * float(found[1])) < 0.006
    assert lines[1].startswith("Rehearsed Warm a mould")


def test_without_a_meter_only_what_was_ordered_is_known(profile: Path) -> None:
    report = json.loads(rehearse(profile, "--json", "--meter", "off").stdout)
    assert (report["metered"], report["state"]) == (False, "complete")


def test_input_lines_are_exported_under_their_own_names(profile: Path, tmp_path: Path) -> None:
    rehearse(profile, "--data", tmp_path / "log")
    result = CliRunner().invoke(main, ["melts", "export", "1", "--data", str(tmp_path / "log")])
    rows = list(csv.DictReader(io.StringIO(result.stdout)))
    heated = [row for row in rows if row["state"] == "running"]
    assert heated
    for line, level in {
        "emergency_stop": "closed", "limiter": "closed", "key": "closed", "lid": "closed", "mirror": "open",
        "reset_button": "open", "load_current": "not fitted",
    }.items():  # fmt: skip
        assert heated[-1][line] == level, line


def test_a_fault_ends_it_and_is_named(profile: Path) -> None:
    result = rehearse(profile, "--fault", "sensor_open@1")
    assert result.exit_code == 3
    assert "aborted" in result.output
    assert "First cause: sensor-open" in result.output


def test_the_strip_is_drawn(profile: Path, tmp_path: Path) -> None:
    picture = tmp_path / "strip.svg"
    assert rehearse(profile, "--plot", picture).exit_code == 0
    assert picture.read_text(encoding="utf-8").startswith("<svg ")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--fault", "gremlin@3"], "--fault names 'gremlin'; allowed: "),
        (["--fault", "sensor_open"], "--fault has minute ''; allowed: a number from 0 to 720."),
        (["--fault", "sensor_open@nan"], "--fault has minute 'nan'; allowed: a number from 0 to 720."),
        (["--absent", "30-10"], "--absent is 30-10; allowed: FROM-TO in minutes, FROM the smaller one."),
        (["--plant", "nowhere:Plant"], "--plant is nowhere:Plant; allowed: MODULE:CLASS that can be imported"),
        (["--plant", "json:__doc__"], "--plant is json:__doc__; allowed: a class made as CLASS(seed=...)."),
        (["--charge-kg", "1"], "--charge-kg is 1.0; allowed: only for a profile with a [charge]."),
        (["--furnace", "volcano"], "volcano"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(profile: Path, words: list[str], said: str) -> None:
    result = rehearse(profile, *words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1


def test_a_charge_above_the_pot_is_refused(repository: Path) -> None:
    result = rehearse(repository / "docs/examples/ingots-2kg.toml", "--charge-kg", "2.6")
    assert result.exit_code == 2
    assert "--charge-kg is 2.6; allowed: above 0, at most 2.5 kg in this pot." in result.stderr
