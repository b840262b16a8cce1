"""The benchmarks run and give their rows; how fast it was is nobody's verdict here."""

import json
from math import isfinite
from pathlib import Path

import pytest

from tests.benchmarks import core, figure, logbook
from tests.benchmarks.figure import Figure


def test_core_gives_its_rows() -> None:
    rows = {row.name: row for row in core.figures(runs=1, at_most_s=240.0)}
    assert {"cycle_us", "cycle_us_p99", "plant_us", "rehearsal_speed"} <= set(rows)
    assert all(isfinite(row.value) and row.value > 0.0 for row in rows.values())
    pieces = [row.value for name, row in rows.items() if row.note in {note for *_, note in core.PIECES}]
    assert sum(pieces) + rows["plant_us"].value < (rows["plant_us"].baseline or 0.0)  # the whole turn


def test_logbook_counts_bytes_and_commits() -> None:
    rows = {row.name: row for row in logbook.figures(at_most_s=240.0)}
    assert rows["log_commits_per_firing_hour"].value > 0.0
    # A row of a sample holds some 50 bytes of numbers; 3600 of them are an hour.
    assert rows["log_file_mb_per_firing_hour"].value > 3600 * 50 / 1e6


def test_a_run_is_kept_with_machine_and_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(figure, "KEPT_IN", tmp_path)
    file = figure.keep("core", "python -m tests.benchmarks core", [Figure("cycle_us", 80.0, "µs", 16.0)], (0.1, 0.9))
    run = json.loads(file.read_text(encoding="utf-8"))
    assert run["rows"] == [
        {"name": "cycle_us", "value": 80.0, "unit": "µs", "baseline": 16.0, "ratio": 5.0, "note": ""}
    ]
    assert run["command"] == "python -m tests.benchmarks core"
    assert run["machine"]["cores"] >= 1
