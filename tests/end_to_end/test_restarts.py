"""Restarts of the real program: no other directory, no repetition and no kill makes a trip forgotten."""

import json
import shutil
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from supervisor.logbook.restarts import FILE
from tests.end_to_end.site import Site

pytestmark = pytest.mark.processes


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with Site(tmp_path) as site:
        yield site


def tripped(site: Site) -> None:
    """A trip in a firing, and the supervisor killed as soon as it is seen."""
    site.start()
    site.fire()
    site.bench(bench="emergency_stop", pressed=True)
    site.wait_for("aborting", "aborted")
    site.kill()
    site.bench(bench="emergency_stop", pressed=False)


def refused_start(site: Site) -> str:
    site.prepare()
    site.until("a snapshot with the profile", lambda: (site.snapshot() or {})["prepared"] is not None)
    refused = site.refused(**site.start_message())
    assert refused is not None
    return refused


@pytest.mark.parametrize("lost", ["nothing", "the whole directory", "the log", "all but an older copy"])
def test_no_data_directory_lets_a_trip_be_forgotten(site: Site, lost: str) -> None:
    if lost == "all but an older copy":
        site.start()
        site.signal(signal.SIGTERM)
        assert site.daemon is not None
        site.daemon.wait(60)
        shutil.copytree(site.data, site.data.with_name("older"))
    tripped(site)
    if lost == "the whole directory":
        shutil.rmtree(site.data)
    elif lost == "the log":
        for file in site.data.glob("furnace.db*"):
            file.unlink()
    elif lost == "all but an older copy":
        shutil.rmtree(site.data)
        shutil.move(site.data.with_name("older"), site.data)
    site.start()
    snapshot = site.link.snapshot()
    assert snapshot["state"] == "stopped"
    assert snapshot["left_open"]
    assert "A trip waits for its reset at the furnace" in refused_start(site)
    assert not any(site.level(line) for line in ("relay", "enable", "contactor"))


def test_another_log_of_the_same_furnace_does_not_know_what_it_did_last(site: Site) -> None:
    tripped(site)
    old = site.data
    site.data = old.with_name("other")
    site.link = type(site.link)(site.data / "link.sock")
    site.start()
    assert "last watched with another log" in site.link.snapshot()["left_open"]
    assert "A trip waits for its reset" in refused_start(site)


def test_a_supervisor_that_is_killed_again_and_again_stays_stopped_until_a_press(site: Site) -> None:
    for restarts in range(5):
        site.start()
        assert site.link.snapshot()["restarts"] == restarts
        if restarts <= 3:
            assert site.link.snapshot()["left_open"] is None
        site.kill()
    site.start()
    snapshot = site.link.snapshot()
    assert "It stays stopped" in snapshot["left_open"]
    assert "begun-too-often" in [alarm["watch"] for alarm in snapshot["alarms"]]
    assert "A trip waits for its reset" in refused_start(site)
    site.send(command="stop")
    site.send(command="reset", found="the supply's plug was loose")
    site.wait_for_question()
    site.press(4.0)
    site.until("the reset", lambda: site.link.snapshot()["left_open"] is None)
    site.until("the count to begin anew", lambda: json.loads((site.data / FILE).read_text())["ended_well"])
    site.kill()
    site.start()
    assert site.link.snapshot()["left_open"] is None


def test_a_program_that_ends_as_it_was_asked_to_is_no_restart(site: Site) -> None:
    for _ in range(5):
        site.start()
        assert site.link.snapshot()["restarts"] == 0
        site.signal(signal.SIGTERM)
        assert site.daemon is not None
        assert site.daemon.wait(60) == 0


def test_a_furnace_that_began_anew_has_a_clock_of_its_own(site: Site) -> None:
    site.start()
    site.fire()
    site.kill()
    assert site.furnace is not None
    site.furnace.kill()
    site.furnace.wait()
    with site:  # another process: cold, and its clock at naught
        site.start()
        found = site.link.snapshot()["aftermath"]
        assert found["ended"] == "power"
        assert found["lasted"]["s"] < 60.0


def test_the_command_line_asks_for_a_reset_and_replaces_no_press(site: Site) -> None:
    tripped(site)
    site.start()
    asked = site.said("reset", "--data", str(site.data), "--found", "hit by mistake")
    assert asked.returncode == 0
    assert asked.stdout == "Now hold the button at the furnace for 3 s.\n"
    site.let_pass(10.0)
    assert site.link.snapshot()["left_open"]
    assert "A trip waits for its reset" in refused_start(site)
    empty = site.said("reset", "--data", str(site.data), "--found", " ")
    assert empty.returncode == 2
    site.wait_for_question()
    site.press(4.0)
    site.until("the reset", lambda: site.link.snapshot()["left_open"] is None)
