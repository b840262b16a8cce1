"""What a test does whose supervisor was held up before anything was tried, and what it does not do again."""

import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.end_to_end.held_up import AGAIN, SET_UPS, HeldUp, Tripped, in_fresh_directories
from tests.end_to_end.site import REPOSITORY, Site

pytestmark = pytest.mark.processes

TESTS = """
import pytest
from tests.end_to_end.held_up import HeldUp, Tripped

pytestmark = pytest.mark.processes
tried = {"at last": 0, "always": 0, "tripped": 0, "judged": 0}

def test_at_last():
    tried["at last"] += 1
    if tried["at last"] < 3:
        raise HeldUp("it says why")

def test_always():
    tried["always"] += 1
    raise HeldUp("it says why")

def test_tripped():
    tried["tripped"] += 1
    raise Tripped("for another cause")

def test_judged():
    tried["judged"] += 1
    assert tried["judged"] > 1

def test_how_often():
    assert tried == {"at last": 3, "always": 3, "tripped": 1, "judged": 1}
"""


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with Site(tmp_path) as site:
        yield site


def on_the_way(site: Site, befalls: Callable[[Site], object]) -> None:
    """The start test runs; then something befalls it, and what the test waits for never comes."""
    with site.setting_up():
        site.ask_to_start()
        site.wait_for("starting")
        befalls(site)
        site.until("what never comes", lambda: False)


def stalled(site: Site) -> None:
    site.signal(signal.SIGSTOP)
    site.let_pass(1.5)
    site.signal(signal.SIGCONT)


def test_a_supervisor_that_was_stalled_on_the_way_was_held_up_and_the_wait_ends_at_once(site: Site) -> None:
    site.start()
    site.prepare()
    with pytest.raises(HeldUp, match=r"is abort\w+, first cause loop-late: .* Alarms: .*loop-late \("):
        on_the_way(site, stalled)


def test_a_trip_of_another_cause_is_no_hold_up_and_says_what_it_was(site: Site) -> None:
    site.start()
    site.prepare()
    with pytest.raises(Tripped, match="first cause emergency-stop") as found:
        on_the_way(site, lambda site: site.bench(bench="emergency_stop", pressed=True))
    assert not isinstance(found.value, HeldUp)


def test_only_what_was_held_up_is_set_up_again_and_a_bounded_number_of_times(tmp_path: Path) -> None:
    (tmp_path / "pytest.ini").write_text("[pytest]\nmarkers = processes\n")
    (tmp_path / "test_these.py").write_text(TESTS)
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-p", "tests.conftest", str(tmp_path)]
    ran = subprocess.run(command, cwd=REPOSITORY, capture_output=True, text=True, check=False)
    assert "3 failed, 2 passed" in ran.stdout
    assert "HeldUp: it says why" in ran.stdout
    assert sorted(line for line in ran.stdout.splitlines() if line.startswith(AGAIN)) == [
        f"{AGAIN}, as the supervisor was held up, {SET_UPS - 1} x: test_these.py::test_{name}"
        for name in ("always", "at_last")
    ]


def test_a_trial_has_a_directory_of_its_own_each_time_it_is_set_up() -> None:
    seen = []

    def once(directory: Path, held_up: int) -> int:
        assert not any(directory.iterdir())
        (directory / "left").touch()
        seen.append(directory)
        if len(seen) <= held_up:
            raise HeldUp
        return 7

    assert in_fresh_directories("trial", lambda directory: once(directory, 2)) == (7, 2)
    seen.clear()
    with pytest.raises(HeldUp):
        in_fresh_directories("trial", lambda directory: once(directory, 9))
    assert len(seen) == SET_UPS
