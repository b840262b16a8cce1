"""Whole firings in virtual time through `meltkeeper rehearse`: real driver, pins and log; only the furnace is not."""

import json
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from supervisor.cli import main
from supervisor.logbook.reading import open_log
from tests.supervisor.profile_text import WARM

INGOTS = "docs/examples/ingots-2kg.toml"
SAMPLES = (
    "SELECT t_ms, hot_junction_c, cold_junction_c, setpoint_c, duty, energy_wh, inputs, state, raw_word FROM sample"
)


def rehearse(repository: Path, *words: str, profile: str = INGOTS) -> tuple[int, dict[str, Any]]:
    result = CliRunner().invoke(main, ["rehearse", str(repository / profile), "--json", *words])
    assert not isinstance(result.exception, Exception) or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, json.loads(result.stdout)


def test_two_kilograms_are_melted_skimmed_and_poured_without_an_alarm(repository: Path, tmp_path: Path) -> None:
    code, report = rehearse(repository, "--data", str(tmp_path / "log"))
    assert code == 0
    assert report["state"] == "complete"
    assert report["alarms"] == []
    assert report["first_cause"] is None
    assert report["poured"] is True
    assert report["lid_openings"] == 1
    assert report["share_molten_most"] == 1.0
    assert 0 < report["minutes_to_molten"] < report["minutes_to_pour"] < 120
    assert report["bus_reads"] == report["cycles"]
    assert report["energy_kwh"] <= report["allowance_kwh"]
    with open_log(tmp_path / "log") as log:
        firing = log.firings()[0]
        events = log.events(firing.id)
        assert firing.state == "complete"
        answers = [e["detail"]["answers"] for e in events if e["kind"] == "press"]
        assert answers[0] == "start"
        assert next(answer for answer in answers[1:] if answer != "sign") == "gate"
        assert [e["detail"]["kind"] for e in events if e["kind"] == "note"] == ["skim", "go on", "pour"]
        assert len(log.samples(firing.id)) >= report["simulated_s"] - 60


def test_a_broken_sensor_ends_in_less_heat_within_its_times(repository: Path) -> None:
    code, report = rehearse(repository, "--fault", "sensor_open@30")
    assert code == 3
    assert report["state"] == "aborted"
    assert report["first_cause"] == "sensor-open"
    assert report["heat_off_after_s"] <= 0.3
    assert report["enable_off_after_s"] <= 1.3
    assert report["contactor_open_after_s"] <= 1.4


def test_with_nobody_there_nothing_melts(repository: Path) -> None:
    code, report = rehearse(repository, "--absent", "1-720")
    assert code == 3
    assert report["state"] == "stopped"
    assert report["first_cause"] == "nobody-there"
    raised = [alarm["watch"] for alarm in report["alarms"] if alarm["step"] == "raised"]
    assert raised == ["sign-due", "sign-missed", "nobody-there"]
    assert report["share_molten_most"] == 0.0


@pytest.mark.parametrize("furnace", ["bench", "workshop"])
def test_the_same_seed_gives_the_same_rows(tmp_path: Path, furnace: str) -> None:
    (tmp_path / "warm.toml").write_text(WARM, encoding="utf-8")

    def rows(name: str, seed: str) -> list[tuple[Any, ...]]:
        words = ("--data", str(tmp_path / name), "--furnace", furnace, "--seed", seed)
        assert rehearse(tmp_path, *words, profile="warm.toml")[0] == 0
        with sqlite3.connect(tmp_path / name / "furnace.db") as connection:
            return connection.execute(SAMPLES).fetchall()

    one, again, other = rows("one", "7"), rows("again", "7"), rows("other", "8")
    assert len(one) > 300
    assert one == again
    assert one != other


def test_moulds_are_dried_without_metal_with_a_permit_edge_in_every_cycle_while_heat_is_allowed(
    repository: Path, tmp_path: Path
) -> None:
    code, report = rehearse(repository, "--data", str(tmp_path / "log"), profile="docs/examples/dry-moulds.toml")
    assert code == 0
    assert report["alarms"] == []
    assert report["kwh_per_kg"] is None
    with open_log(tmp_path / "log") as log:
        firing = log.firings()[0]
        states = {e["detail"]["to"]: e["t_ms"] for e in log.events(firing.id) if e["kind"] == "state"}
    heated = (states["completing"] - states["running"]) / 250
    start_test = 25 * 4  # toggles of the start test and of the press, at most
    assert heated <= report["permit_edges"] <= heated + start_test
