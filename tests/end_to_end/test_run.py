"""`meltkeeper run --simulated`: one command brings everything up, and Ctrl-C ends it in order."""

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from urllib.request import urlopen

import pytest

from hardware.clock import monotonic_s
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent
from tests.end_to_end.site import REPOSITORY
from tests.end_to_end.waiting import until

pytestmark = pytest.mark.processes


class Running:
    """The command at work, as far as it has spoken."""

    def __init__(self, data: Path) -> None:
        self.data = data
        self.link = Link(data / SOCKET_NAME)
        self.began_s = monotonic_s()
        command = ["run", "--simulated", "--data", str(data), "--host", "127.0.0.1", "--port", "0"]
        self.process = subprocess.Popen(
            [sys.executable, "-m", "supervisor.cli", *command],
            cwd=REPOSITORY, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        assert self.process.stdout is not None
        self.said = ""
        while "Ctrl-C" not in self.said:
            line = self.process.stdout.readline()
            assert line, self.said
            self.said += line
        found = re.search(r"http://\S+", self.said)
        assert found
        self.address = found[0]

    def supervisor(self) -> int:
        """Process id of the supervisor, as its lock tells it."""
        return int((self.data / "writer.lock").read_text(encoding="utf-8").split()[0])

    def state(self) -> str | None:
        """What the supervisor says; None when it does not."""
        try:
            return str(self.link.snapshot()["state"])
        except LinkSilent:
            return None

    def end(self) -> tuple[int, str]:
        """Ctrl-C; exit status, and what was said on the way."""
        self.process.send_signal(signal.SIGINT)
        said, complaints = self.process.communicate(timeout=60)
        return self.process.returncode, said + complaints


@pytest.fixture
def running(tmp_path: Path) -> Iterator[Running]:
    running = Running(tmp_path / "data")
    yield running
    if running.process.poll() is None:
        running.end()
    for pipe in (running.process.stdout, running.process.stderr):
        assert pipe is not None
        pipe.close()


def test_page_code_and_directory_are_printed_and_the_page_is_up(running: Running) -> None:
    with urlopen(running.address, timeout=60) as page:
        assert page.status == 200
    assert re.search(r"code: [2-9A-HJKMNP-Z]{4}-[2-9A-HJKMNP-Z]{4}", running.said)
    assert str(running.data) in running.said
    assert "imulated" in running.said
    assert running.link.snapshot()["furnace"]["backend"] == "simulated"


def test_interrupt_ends_all_parts_supervisor_first(running: Running) -> None:
    supervisor = running.supervisor()
    status, _ = running.end()
    assert status == 0
    with pytest.raises(ProcessLookupError):
        os.kill(supervisor, 0)
    assert not (running.data / SOCKET_NAME).exists()
    assert not (running.data / "furnace.sock").exists()


def test_supervisor_that_dies_is_started_again_and_the_person_told(running: Running) -> None:
    first = running.supervisor()
    os.kill(first, signal.SIGKILL)
    until("another supervisor", lambda: running.state() == "stopped" and running.supervisor() != first)
    with urlopen(running.address, timeout=60) as page:
        assert page.status == 200
    status, said = running.end()
    assert status == 0
    assert "The supervisor was killed by signal 9. It starts again, stopped" in said


def test_parts_end_with_a_parent_that_was_killed(running: Running) -> None:
    running.process.kill()
    running.process.wait()
    until("the supervisor ends", lambda: not (running.data / SOCKET_NAME).exists())
    until("the furnace ends", lambda: not (running.data / "furnace.sock").exists())


def test_taken_port_is_refused_in_a_sentence(running: Running, tmp_path: Path) -> None:
    port = running.address.rstrip("/").rpartition(":")[2]
    second = subprocess.run(
        [sys.executable, "-m", "supervisor.cli", "run", "--simulated", "--data", str(tmp_path / "b"), "--port", port],
        cwd=REPOSITORY, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert second.returncode == 2
    assert f"--port {port} cannot be used" in second.stderr
    assert second.stderr.count("\n") == 1
