"""`meltkeeper run` and its messenger: neither can take the other down, and nothing ends before people were told."""

import os
import re
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Self

import pytest

from supervisor.link.client import SOCKET_NAME, Link
from supervisor.logbook.place import is_being_written
from tests.end_to_end.sink import Sink, write_alerts
from tests.end_to_end.site import REPOSITORY, Site

pytestmark = pytest.mark.processes


class Household(Site):
    """Everything as `meltkeeper run` starts it, at the furnace's own pace."""

    def __init__(self, directory: Path) -> None:
        super().__init__(directory)
        self.data = directory / "data"
        self.socket = self.data / "furnace.sock"
        self.link = Link(self.data / SOCKET_NAME)
        self.complaints = ""

    def __enter__(self) -> Self:
        command = ["run", "--simulated", "--times-real", "1", "--data", str(self.data)]
        self.run = subprocess.Popen(
            [sys.executable, "-m", "supervisor.cli", *command, "--host", "127.0.0.1", "--port", "0"],
            cwd=REPOSITORY, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()
        self.until("the supervisor answers", lambda: self.snapshot() is not None)
        return self

    def __exit__(self, *error: object) -> None:
        if self.run.poll() is None:
            self.run.send_signal(signal.SIGINT)
        self.run.wait(60)
        self._reader.join()
        assert self.run.stderr is not None
        self.run.stderr.close()
        super().__exit__(*error)

    def _read(self) -> None:
        assert self.run.stderr is not None
        for line in self.run.stderr:
            self.complaints += line

    def said_times(self, words: str, times: int) -> bool:
        """Whether `run` has said so at least so often."""
        return self.complaints.count(words) >= times

    def part(self, directory: Path) -> int:
        """Process id of whoever holds the lock of a directory."""
        self.until("the lock", lambda: is_being_written(directory) and (directory / "writer.lock").read_text() != "")
        return int((directory / "writer.lock").read_text(encoding="utf-8").split()[0])

    def kill_part(self, directory: Path) -> int:
        pid = self.part(directory)
        os.kill(pid, signal.SIGKILL)
        return pid


@pytest.fixture
def sink() -> Iterator[Sink]:
    with Sink() as sink:
        yield sink


@pytest.fixture
def household(tmp_path: Path, sink: Sink) -> Iterator[Household]:
    write_alerts(tmp_path / "data", ("Ada", "first", [sink.address("ada")]), ("Ben", "second", [sink.address("ben")]))
    with Household(tmp_path) as household:
        yield household


def test_a_messenger_that_dies_is_started_again_and_said_and_the_furnace_goes_on(household: Household) -> None:
    household.fire()
    messenger = household.data / "messenger"
    for number in range(6):
        household.kill_part(messenger)
        household.until("it is said", partial(household.said_times, "The messenger was killed by signal 9", number + 1))
    assert "Nobody outside is told until it runs." in household.complaints
    assert household.complaints.count("The messenger was killed by signal 9. It starts again.") == 5
    assert household.state() == "running"
    assert household.level("contactor")
    assert household.run.poll() is None


def test_a_supervisor_that_cannot_be_kept_up_is_told_before_everything_ends(household: Household, sink: Sink) -> None:
    household.fire()
    told = household.data / "messenger/told.json"
    household.until("the messenger has heard of it", lambda: '"running"' in told.read_text())
    killed: set[int] = set()
    while household.run.poll() is None and "Everything is ended." not in household.complaints:
        if is_being_written(household.data) and (found := (household.data / "writer.lock").read_text().split()):
            pid = int(found[0])
            if pid not in killed:
                killed.add(pid)
                os.kill(pid, signal.SIGKILL)
        household.let_pass(0.5)
    assert household.run.wait(60) == 1
    for path in ("ada", "ben"):
        (letter,) = sink.to(path)
        assert re.search(r"the supervisor (is silent|failed)", letter.title)
