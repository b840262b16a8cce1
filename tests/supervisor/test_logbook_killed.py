"""A program that is killed in the middle of writing loses nothing that it was told is on disk."""

import contextlib
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from supervisor.logbook.reading import open_log
from tests.supervisor.logbook import query, scribe_of

WRITE_WITHOUT_END = """
import sys
from pathlib import Path
from tests.supervisor.logbook import event, opened, sample, scribe_of
with scribe_of(Path(sys.argv[1]), threaded=sys.argv[2] == "thread") as scribe:
    scribe.put([opened()])
    t_ms = 0
    waiting = {}
    while True:
        t_ms += 1000
        waiting[scribe.put([sample(t_ms), event(t_ms, 1)] if t_ms % 7000 == 0 else [sample(t_ms)])] = t_ms
        done = [ticket for ticket in waiting if ticket <= scribe.committed]
        for ticket in done:
            print(waiting.pop(ticket), flush=True)
"""


@pytest.mark.processes
@pytest.mark.parametrize("way", ["inline", "thread"])
@pytest.mark.parametrize("after_s", [0.0, 0.013, 0.05, 0.21])
def test_after_kill_9_every_acknowledged_row_is_there(
    tmp_path: Path, repository: Path, way: str, after_s: float
) -> None:
    command = [sys.executable, "-c", WRITE_WITHOUT_END, str(tmp_path), way]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=repository) as process:
        assert process.stdout is not None
        first = process.stdout.readline()
        threading.Event().wait(after_s)  # real time passes in another process
        process.kill()
        told = [int(line) for line in [first, *process.stdout.read().split("\n")[:-1]]]
    assert process.returncode == -9

    with scribe_of(tmp_path) as scribe:
        assert scribe.trouble is None
    assert query(tmp_path, "PRAGMA integrity_check") == [("ok",)]
    kept = [t_ms for (t_ms,) in query(tmp_path, "SELECT t_ms FROM sample ORDER BY id")]
    assert set(told) <= set(kept)
    assert kept == list(range(1000, kept[-1] + 1, 1000)), "a beginning without holes"
    events = [t_ms for (t_ms,) in query(tmp_path, "SELECT t_ms FROM event ORDER BY id")]
    assert {t_ms for t_ms in told if t_ms % 7000 == 0} <= set(events) <= set(kept), "a batch is whole or not at all"
    with contextlib.ExitStack() as stack:
        log = stack.enter_context(open_log(tmp_path))
        assert [(left.firing_id, left.last_t_ms) for left in log.left_open()] == [(1, kept[-1])]
        assert log.standing_alarms() == [], "the past is known"
