"""Ten of each; the whole is run by `python -m tests.campaigns.store`."""

import json
import subprocess
import sys
from pathlib import Path

import pytest


@pytest.mark.processes
def test_records_that_were_killed_cut_off_or_flipped_open_or_say_what_is_lost(repository: Path) -> None:
    few = ("--kills", "10", "--truncations", "10", "--flips", "10", "--seed", "1000", "--json")
    command = [sys.executable, "-m", "tests.campaigns.store", *few]
    done = subprocess.run(command, cwd=repository, capture_output=True, text=True, check=False, timeout=900)
    told = json.loads(done.stdout)
    assert told["faults"] == []
    assert done.returncode == 0, done.stderr
    assert told["kill"] == {"opens": 10}
    assert sum(told["truncation"].values()) == sum(told["flip"].values()) == 10
