"""A few trials of each campaign, as commands: they start copies of their process, which a test runner should not."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from hardware.simulated.faults import FAULTS
from supervisor.rehearsal.drill.counts import poisson_upper
from tests.campaigns.expected import EXPECTED


def _campaign(repository: Path, *words: str) -> Any:
    command = [sys.executable, "-m", f"tests.campaigns.{words[0]}", *words[1:], "--json"]
    done = subprocess.run(command, cwd=repository, capture_output=True, text=True, check=False, timeout=300)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_healthy_firings_raise_nothing(repository: Path) -> None:
    figures = _campaign(repository, "healthy", "--trials", "2", "--seed", "105")
    assert figures["unfinished"] == []
    assert figures["false_any"] == 0, figures["by_watch"]
    assert figures["hours"] > 1.0


def test_every_fault_that_a_watch_can_see_is_found_in_time(repository: Path) -> None:
    figures = _campaign(repository, "faults", "--trials", "1", "--seed", "2", "--short")
    assert set(figures["faults"]) == set(FAULTS)
    missed = {name: row["found_by"] for name, row in figures["faults"].items() if row["missed"]}
    assert missed == {}
    assert figures["first_cause_right"] == 1.0


def test_every_fault_says_who_finds_it_or_why_nobody_does() -> None:
    assert set(EXPECTED) == set(FAULTS)
    for name, expected in EXPECTED.items():
        assert bool(expected.watches) != bool(expected.unnoticed), name


# Half the upper 5 % points of chi-square with 2, 4, 6 and 22 degrees of freedom: 5.991, 9.488, 12.592, 33.924.
# Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7.4, table of upper-tail critical values (from
# memory); that half of them are the bounds: Garwood, F. (1936), Biometrika 28, 437-442 (from memory).
@pytest.mark.parametrize(("count", "bound"), [(0, 2.9955), (1, 4.744), (2, 6.296), (10, 16.962)])
def test_poisson_bound_is_the_handbooks(count: int, bound: float) -> None:
    assert poisson_upper(count) == pytest.approx(bound, abs=5e-4)
