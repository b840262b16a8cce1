"""A furnace that has learned: three melts, a lesson from their log, and the fourth beside the plain controller's."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from supervisor.cli import main
from supervisor.furnace.file import read_furnace
from supervisor.logbook.learning import models
from supervisor.logbook.reading import open_log
from tests.supervisor.profile_text import WARM

MELT = """
name = "Ingots, as fast as it goes"
top_c = 800
pour_c = 720

[charge]
mass_kg = 2.0
alloy = "6082"
form = "off-cuts"

[[segment]]
ramp_to_c = 740
rate_c_per_h = 1800

[[segment]]
hold_min = 5
wait_within_c = 25
until = "word"
"""
TARGET_C = 740.0


@pytest.fixture
def melt(tmp_path: Path) -> Path:
    (tmp_path / "melt.toml").write_text(MELT, encoding="utf-8")
    return tmp_path / "melt.toml"


@pytest.fixture
def warm(tmp_path: Path) -> Path:
    """A firing that is soon over."""
    (tmp_path / "warm.toml").write_text(WARM, encoding="utf-8")
    return tmp_path / "warm.toml"


def rehearsed(melt: Path, *words: str) -> dict[str, Any]:
    result = CliRunner().invoke(main, ["rehearse", str(melt), "--furnace", "bench", "--json", *words])
    assert result.exit_code == 0, result.output
    report: dict[str, Any] = json.loads(result.stdout)
    return report


def test_the_fourth_melt_is_faster_as_forecast_and_no_hotter_than_it_may_be(melt: Path, tmp_path: Path) -> None:
    data = tmp_path / "data"
    boosted = rehearsed(melt, "--learn", "3", "--data", str(data))
    plain = rehearsed(melt, "--controller", "plain", "--seed", "1")
    assert (boosted["learned_from"], plain["learned_from"]) == ([1, 2, 3], [])
    assert boosted["minutes_to_pour"] < 0.95 * plain["minutes_to_pour"]
    assert (boosted["boost_min"] > 5.0, plain["boost_min"]) == (True, 0.0)
    assert boosted["boost_why_off"].startswith("Ended: ")
    assert (boosted["alarms"], plain["alarms"]) == ([], [])
    assert max(boosted["metal_peak_c"], plain["metal_peak_c"]) <= TARGET_C + 15.0

    said = boosted["forecast"]
    assert said["learned"]
    assert abs(said["minutes"]["likely"] / boosted["minutes_to_pour"] - 1.0) <= 0.10
    assert said["minutes"]["low"] <= boosted["minutes_to_pour"] <= said["minutes"]["high"]
    assert abs(said["kwh"] / boosted["energy_to_pour_kwh"] - 1.0) <= 0.10
    assert abs(said["gate_asks_min"]["likely"] - boosted["gate_asked_min"]) <= 2.0
    assert set(boosted["estimate"]) == {"solid", "melting", "liquid"}

    with open_log(data) as log:
        assert models(log, read_furnace("bench")).adopted is not None
        fourth = log.firing(4)
        minutes, samples = log.estimates(fourth.id), log.samples(fourth.id)
        assert not models(log, read_furnace("workshop")).kept, "another furnace has learned nothing"
    assert len(minutes) >= boosted["minutes_to_pour"] - 1.0
    assert any(row["boost"] for row in minutes)
    assert {row["phase"] for row in minutes} >= {"solid", "melting", "liquid"}
    assert sum(row["residual_k"] is not None for row in samples) > 0.9 * len(samples)

    again = CliRunner().invoke(
        main, ["furnace", "learn", "--furnace", "bench", "--data", str(data), "--look", "--json"]
    )
    told = json.loads(again.stdout)
    assert told["left_out"] == [], "the boosted melt teaches like any other"


def test_what_was_learned_on_a_simulated_furnace_never_counts_on_a_real_one(warm: Path, tmp_path: Path) -> None:
    from supervisor.logbook.directory import open_directory
    from supervisor.refusal import InputRefused

    data = tmp_path / "data"
    rehearsed(warm, "--data", str(data))
    with (
        pytest.raises(InputRefused, match="was born simulated; a real furnace needs another data directory"),
        open_directory(data, backend="pi", furnace="bench"),
    ):
        pass


def test_a_real_furnaces_log_is_read_for_a_rehearsal_and_never_written(warm: Path, tmp_path: Path) -> None:
    from supervisor.logbook.directory import open_directory

    with open_directory(tmp_path / "real", backend="pi", furnace="bench"):
        pass
    before = (tmp_path / "real" / "furnace.db").read_bytes()
    rehearsed(warm, "--data", str(tmp_path / "real"))
    assert (tmp_path / "real" / "furnace.db").read_bytes() == before
    with open_log(tmp_path / "real") as log:
        assert log.firings() == []
