"""The benchmarks run and give their rows; how fast it was is nobody's verdict here."""

import json
import subprocess
import sys
from math import isfinite
from pathlib import Path

import pytest

from tests.benchmarks import control, core, figure, logbook
from tests.benchmarks.figure import Figure
from tests.benchmarks.standard_firings import FAULTY, STANDARD, drawn, profile


def test_core_gives_its_rows() -> None:
    rows = {row.name: row for row in core.figures(runs=1, at_most_s=240.0)}
    assert {"cycle_us", "cycle_us_p99", "plant_us", "rehearsal_speed"} <= set(rows)
    assert all(isfinite(row.value) and row.value > 0.0 for row in rows.values())
    pieces = [row.value for name, row in rows.items() if row.note in {note for *_, note in core.PIECES}]
    assert sum(pieces) + rows["plant_us"].value < (rows["plant_us"].baseline or 0.0)  # the whole turn


def test_logbook_counts_bytes_and_commits() -> None:
    rows = {row.name: row for row in logbook.commits(at_most_s=240.0)}
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


CONTROL = {
    "pour_ratio_mean",
    "pour_ratio_p95",
    "pour_ratio_unlimited_mean",
    "pour_ratio_unlimited_p95",
    "energy_ratio",
    "metal_over_target_p95_c",
    "metal_over_target_faults_p95_c",
    "ramp_rms_c",
    "ramp_worst_c",
    "overshoot_c",
    "hold_peak_to_peak_c",
    "relay_operations_per_h",
    "open_loop_rms_c",
    "time_to_molten_rms_min",
    "metal_rms_solid_c",
    "metal_rms_melting_c",
    "metal_rms_liquid_c",
    "coverage_solid",
    "coverage_melting",
    "coverage_liquid",
    "metal_rms_after_dip_c",
    "minutes_to_pour_rms_min",
}


def test_control_gives_its_rows() -> None:
    kinds = {kind.name: kind for kind in (*STANDARD, *FAULTY)}
    found = control.figures(seeds=1, standard=(kinds["empty"], kinds["cold_3"]), faulty=(kinds["mass_half"],))
    rows = {row.name: row for row in found}
    assert set(rows) >= CONTROL
    assert all(isfinite(rows[name].value) for name in CONTROL)
    assert rows["firings"].value == 6
    assert rows["pour_ratio_mean"].value >= 0.99  # no controller beats the bound
    assert (rows["pour_ratio_mean"].baseline or 0.0) >= 0.99
    assert rows["setpoints_over_cap"].value == 0


# It starts copies of its process, which a test runner should not.
A_SMALL_DRILL = """
import json
from tests.benchmarks import drill
part = drill.Part("", "bench", None, None, ("sensor_open", "key_off"), 1.0, 1.0)
found = drill.figures(drill.Ask(4, 0.1, 0, rounds=1, quick=True), (part,))
print(json.dumps({row.name: row.value for row in found}))
"""


def test_drill_gives_its_rows(repository: Path) -> None:
    command = [sys.executable, "-c", A_SMALL_DRILL]
    done = subprocess.run(command, cwd=repository, capture_output=True, text=True, check=False, timeout=900)
    assert done.returncode == 0, done.stderr
    rows = json.loads(done.stdout)
    assert rows["cases"] == rows["cases_detectable"] == 4
    assert rows["missed"] == rows["sensor_open_missed"] == rows["key_off_missed"] == 0
    assert rows["first_cause_right"] == 1.0
    assert 0.0 <= rows["sensor_open_relay_low_median_s"] <= rows["sensor_open_relay_low_worst_s"] <= 0.3
    assert rows["hours"] > 0.1
    assert {"false_trips_per_1000h", "false_holds_per_1000h", "false_any_per_1000h"} <= set(rows)
    assert all(isfinite(value) for value in rows.values())


def test_a_flight_is_the_firing_that_bus_driver_and_pins_give() -> None:
    setting = control.setting_of(control.BENCH)
    kind = STANDARD[2]
    plan, true = profile(setting, kind, cap_over_target_k=60.0), drawn(kind, 1)

    def seconds(*, whole: bool) -> list[tuple[float, ...]]:
        done = control.flight(setting, 1, kind, plan, true, None, "plain", at_most_s=900.0, whole=whole)
        return [
            (s.t_s, s.reading_c, s.setpoint_c, s.duty, s.metered_wh, s.true.metal_mean_c) for s in done.flown.seconds
        ]

    bare = seconds(whole=False)
    assert len(bare) > 800
    assert bare == seconds(whole=True)
