"""A full disk and one that can only be read, both real: nothing is lost, and every page still answers."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

NAMESPACE = ("unshare", "--user", "--map-root-user", "--mount")


@pytest.mark.processes
def test_on_a_full_disk_and_on_one_that_is_read_only_events_wait_and_pages_answer(
    tmp_path: Path, repository: Path
) -> None:
    command = [*NAMESPACE, sys.executable, "-m", "tests.end_to_end.small_disk", str(tmp_path)]
    done = subprocess.run(command, cwd=repository, capture_output=True, text=True, check=False, timeout=180)
    assert done.returncode == 0, done.stderr[-3000:]
    told = json.loads(done.stdout)
    assert told["pages"] > 25
    assert told["sound"] == told["full_pages"] == told["read_only_pages"] == {}
    assert told["full"] == "The disk is full: nothing can be written any more."
    assert told["full_waits"]
    assert told["room_again"]
    assert "cannot be used as a data directory (Read-only file system)" in told["read_only_refused"]
    assert told["read_only_start"] == {}
    assert told["written_again"]
    assert told["full_start"] == "The disk is full: events are still written, samples are not."
    assert told["full_start_written"]
    assert told["room_seen"], "nothing is written meanwhile"
    assert "as a data directory (No space left on device); make room there." in told["no_byte_refused"]
    assert told["trouble_left"] == "The disk is full: events are still written, samples are not.", "6 MB are too few"
    assert told["events"] == 4
    assert told["fault"] == ""
