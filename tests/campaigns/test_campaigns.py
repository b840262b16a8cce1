"""A few trials of each campaign, as commands: they start copies of their process, which a test runner should not."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from hardware.simulated.faults import FAULTS
from supervisor.rehearsal.drill.cases import TARGETS
from supervisor.rehearsal.drill.counts import poisson_upper
from supervisor.watches import WATCHES
from supervisor.watches.rows import ROWS


def drill(repository: Path, *words: str, status: int = 0) -> Any:
    command = [sys.executable, "-m", "supervisor.cli", "drill", *words, "--json"]
    done = subprocess.run(command, cwd=repository, capture_output=True, text=True, check=False, timeout=1500)
    assert done.returncode == status, done.stdout[:3000] + done.stderr
    return json.loads(done.stdout)


A_FEW = ("sensor_open", "sensor_frozen", "sensor_slips", "relay_stuck_on", "relay_stuck_off", "lid_unseen")


def test_faults_are_noticed_and_healthy_firings_raise_nothing_and_one_file_tells_of_it(
    repository: Path, tmp_path: Path
) -> None:
    """The file says what nobody can notice too, and that all of it is simulated."""
    faults = [word for name in A_FEW for word in ("--fault", name)]
    much = ("--cases", str(len(A_FEW)), "--hours", "0.5", "--seed", "4", "--furnace", "bench", "--workers", "1")
    file = tmp_path / "drill.html"
    report = drill(repository, *faults, *much, "--html", str(file))
    assert report["cases_detectable"] == len(A_FEW)
    assert report["learned"]
    assert report["missed"] == 0, report["misses"]
    assert len(report["wrong_first_causes"]) <= 1, report["wrong_first_causes"]
    assert report["cases_with_more_than_3_alarms"] == 0
    assert report["healthy"]["false_any"] == 0, report["healthy"]["alarms"]
    assert report["healthy"]["hours"] >= 0.5
    assert report["faults"]["sensor_open"]["relay_low_s"]["worst"] <= 0.3
    assert report["faults"]["sensor_open"]["contactor_open_s"]["worst"] <= 1.4
    page = file.read_text(encoding="utf-8")
    assert "simulated" in page
    assert "<svg" in page
    assert "Extension lead exchanged at both of its ends" in page
    assert "share of the heated time" in page
    for word in (" src=", "<link", "<script", "url("):
        assert word not in page


SHORT_DRILLS = """
import json
from supervisor.furnace.file import read_heated_furnace
from supervisor.rehearsal.drill.campaign import Wish, drill
from supervisor.rehearsal.drill.figures import figures
from supervisor.rehearsal.drill.subject import subject

of = subject(read_heated_furnace("bench"), None, None, 0)
for workers in (1, 2):
    wish = Wish(of, 2, 0.1, 2, ("sensor_open", "key_off"), workers, quick=True)
    print(json.dumps(figures(drill(wish, lambda *done: None))))
"""
"""The drill's own short healthy firings: what is asked is only whether both reports are the same."""


def test_the_same_seed_gives_the_same_report_whatever_the_number_of_workers(repository: Path) -> None:
    command = [sys.executable, "-c", SHORT_DRILLS]
    done = subprocess.run(command, cwd=repository, capture_output=True, text=True, check=True, timeout=1500)
    alone, together = map(json.loads, done.stdout.splitlines())
    assert alone["cases"] == 2
    assert alone["healthy"]["hours"] > 0.1
    assert alone == together


def test_a_part_that_is_not_fitted_cannot_fail(repository: Path) -> None:
    words = ("--fault", "metal_escapes", "--cases", "1", "--hours", "0", "--learned", "0")
    assert drill(repository, *words)["cases"] == 0


def test_every_fault_of_the_simulated_furnace_stands_in_the_table() -> None:
    injected = {target.injected.name for target in TARGETS.values()} - {""}
    assert injected == set(FAULTS)
    assert len(TARGETS) == sum(len(row.faults) for row in ROWS.values())  # no two of one name


@pytest.mark.parametrize("name", sorted(ROWS))
def test_every_row_says_who_notices_it_or_why_nobody_does(name: str) -> None:
    row = ROWS[name]
    assert row.watches <= {watch.id for watch in WATCHES}
    if row.within_s:
        assert row.watches
        assert row.faults
    else:
        assert row.why_not or row.instead
    if "" not in row.within_s:
        assert row.why_not or row.instead or row.part


# Half the upper 5 % points of chi-square with 2, 4, 6 and 22 degrees of freedom: 5.991, 9.488, 12.592, 33.924.
# Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7.4, table of upper-tail critical values (from
# memory); that half of them are the bounds: Garwood, F. (1936), Biometrika 28, 437-442 (from memory).
@pytest.mark.parametrize(("count", "bound"), [(0, 2.9955), (1, 4.744), (2, 6.296), (10, 16.962)])
def test_poisson_bound_is_the_handbooks(count: int, bound: float) -> None:
    assert poisson_upper(count) == pytest.approx(bound, abs=5e-4)
