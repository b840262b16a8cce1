"""After a melt a process of its own learns the furnace: gently, alone, never beside a firing, gone with its parent."""

import os
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from supervisor.learner import AT_MOST_S, EVENT, WAITS_S, Learner
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import EventRow, FiringClosed, FiringOpened, Record
from tests.supervisor.logbook import scribe_of
from tests.supervisor.logbook_melts import keep_melt

OPENED = FiringOpened(1, 0.0, "Melt", None, "Melt", {"charge": {"mass_kg": 2.0}}, "simulated")
POURED = EventRow(1, 9000, "note", "Ada", "page", {"kind": "pour"})
CLOSED = FiringClosed(1, 9000, "complete", None, {})
LIVES_ON = """
import subprocess, sys, time
from pathlib import Path
from supervisor.learner import Learner
learner = Learner("bench", Path(sys.argv[1]), now_s=lambda: 0.0)
learner._due_s = -1.0
learner.look(live=False, t_ms=0)
print(learner.pid, flush=True)
sys.stdin.read()
"""


class Now:
    """Real time, as the test has it."""

    s = 1000.0

    def __call__(self) -> float:
        return self.s


@pytest.fixture
def now() -> Now:
    return Now()


@pytest.fixture
def learner(tmp_path: Path, now: Now) -> Iterator[Learner]:
    made = Learner("bench", tmp_path, now)
    yield made
    made.close()


def until(true: Callable[[], Any]) -> Any:
    """Wait for what another process does."""
    for _ in range(3000):
        if found := true():
            return found
        threading.Event().wait(0.02)
    raise AssertionError("it never came")


def ended(learner: Learner) -> EventRow:
    """What the learner says when its process is over."""
    (event,) = until(lambda: learner.look(live=False, t_ms=5000))
    assert isinstance(event, EventRow)
    assert (event.kind, event.firing_id, event.t_ms) == (EVENT, None, 5000)
    return event


@pytest.mark.parametrize(
    ("records", "begins"),
    [
        ([OPENED, POURED, CLOSED], True),
        ([OPENED, CLOSED, POURED], True),
        ([OPENED, CLOSED], False),
        ([OPENED, POURED], False),
        ([OPENED._replace(frozen={"charge": None}), CLOSED], True),
        ([POURED], True),  # noted after the supervisor was started anew
    ],
)
@pytest.mark.processes
def test_it_begins_when_a_firing_is_closed_and_its_pour_was_noted(
    learner: Learner, now: Now, records: list[Record], begins: bool
) -> None:
    for record in records:
        learner.see([record])
    now.s += WAITS_S - 0.1
    assert learner.look(live=False, t_ms=0) == []
    assert learner.pid is None, "its rows have to be on disk first"
    now.s += 0.2
    assert learner.look(live=False, t_ms=0) == []
    assert (learner.pid is not None) == begins


@pytest.mark.processes
def test_it_learns_and_keeps_what_it_learned(learner: Learner, now: Now, tmp_path: Path) -> None:
    for firing_id in (1, 2):
        keep_melt(tmp_path, firing_id, minutes=40.0)
    learner.see([OPENED, POURED, CLOSED])
    now.s += WAITS_S
    learner.look(live=False, t_ms=0)
    assert learner.pid is not None
    until(lambda: os.getpriority(os.PRIO_PROCESS, learner.pid or 0) == 19)
    assert ended(learner).detail == {"said": "Adopted: the next firing uses it."}
    assert learner.pid is None
    with open_log(tmp_path) as log:
        (kept,) = log.models()
    assert (kept.adopted, kept.who, kept.model["learned_from"]) == (True, "learner", [1, 2])


@pytest.mark.processes
def test_its_failure_is_a_line_for_the_log_and_no_more(learner: Learner, now: Now, tmp_path: Path) -> None:
    learner.see([OPENED, POURED, CLOSED])
    now.s += WAITS_S
    learner.look(live=False, t_ms=0)
    failed = ended(learner).detail["failed"]
    assert failed == f"ended with status 2: There is no log in {tmp_path}: name the data directory with --data."


@pytest.mark.processes
def test_it_never_runs_beside_a_firing(learner: Learner, now: Now, tmp_path: Path) -> None:
    with scribe_of(tmp_path):
        pass
    learner.see([OPENED, POURED, CLOSED])
    now.s += WAITS_S
    assert learner.look(live=True, t_ms=0) == []
    assert learner.pid is None
    learner.look(live=False, t_ms=0)
    pid = learner.pid
    assert pid is not None
    assert learner.look(live=True, t_ms=7) == [], "the loop asks it to end and does not wait for that"
    os.waitid(os.P_PID, pid, os.WEXITED | os.WNOWAIT)
    (event,) = learner.look(live=True, t_ms=8)
    assert isinstance(event, EventRow)
    assert event.detail == {"put off": "a firing is on"}
    assert learner.pid is None
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)
    learner.look(live=False, t_ms=9)
    assert learner.pid is not None, "it begins again when the firing is over"


@pytest.mark.processes
def test_one_that_does_not_end_is_ended(learner: Learner, now: Now, tmp_path: Path) -> None:
    keep_melt(tmp_path, 1, minutes=40.0)
    learner.see([OPENED, POURED, CLOSED])
    now.s += WAITS_S
    learner.look(live=False, t_ms=0)
    now.s += AT_MOST_S + 1.0
    assert ended(learner).detail == {"failed": "it had not ended after 30 min"}


@pytest.mark.processes
def test_it_ends_with_the_supervisor_even_with_one_that_is_killed(tmp_path: Path, repository: Path) -> None:
    for firing_id in (1, 2, 3):
        keep_melt(tmp_path, firing_id, minutes=40.0)
    command = [sys.executable, "-c", LIVES_ON, str(tmp_path)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=repository) as parent:
        assert parent.stdout is not None
        pid = int(parent.stdout.readline())
        until(lambda: os.getpriority(os.PRIO_PROCESS, pid) == 19)
        parent.kill()
    until(lambda: not Path(f"/proc/{pid}").exists() or "zombie" in Path(f"/proc/{pid}/status").read_text())
    with open_log(tmp_path) as log:
        assert log.models() == []
