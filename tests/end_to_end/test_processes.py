"""The supervisor as a process: how it ends, what stands after it, and that there is never a second one."""

import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from supervisor.logbook.directory import open_directory
from tests.end_to_end.kills import OPEN_WITHIN_S
from tests.end_to_end.site import Site

pytestmark = pytest.mark.processes


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with Site(tmp_path) as site:
        yield site


def test_signal_to_end_stops_heating_closes_the_firing_and_ends_well(site: Site) -> None:
    site.start()
    site.fire()
    assert site.level("contactor")
    site.signal(signal.SIGTERM)
    assert site.daemon is not None
    assert site.daemon.wait(60) == 0
    assert not any(site.level(line) for line in ("relay", "enable", "contactor"))
    assert site.firings() == ["stopped"]
    assert not (site.data / "link.sock").exists()
    site.start()
    assert site.link.snapshot()["left_open"] is None


def test_supervisor_that_is_stalled_loses_the_contactor_and_gives_no_heat_when_it_goes_on(site: Site) -> None:
    site.start()
    site.fire()
    site.signal(signal.SIGSTOP)
    site.until("the contactor opens", lambda: not site.level("contactor"))
    opened, last = site.edges("contactor")[-1], site.edges("permit")[-1]
    assert opened.time_s - last.time_s <= OPEN_WITHIN_S
    relay_edges = [edge for edge in site.edges("relay") if edge.level]
    site.let_pass(1.0)
    site.signal(signal.SIGCONT)
    site.wait_for("aborted")
    site.let_pass(1.0)
    assert not site.level("contactor")
    assert not site.level("enable")
    assert [edge for edge in site.edges("relay") if edge.level] == relay_edges
    assert site.refused(command="resume", epoch=site.link.snapshot()["epoch"]) is not None


def test_trip_stands_after_a_restart_until_the_reset_at_the_furnace(site: Site) -> None:
    site.start()
    site.fire()
    site.bench(bench="emergency_stop", pressed=True)
    site.wait_for("aborted")
    site.bench(bench="emergency_stop", pressed=False)
    site.until("the closing record", lambda: site.firings() == ["aborted"])
    site.kill()
    site.start()
    assert "trip" in site.link.snapshot()["left_open"]
    site.prepare()
    assert site.refused(**site.start_message()) is not None
    site.send(command="stop")
    site.send(command="reset", found="somebody hit the button by mistake")
    site.wait_for_question()
    site.press(4.0)
    site.until("the reset", lambda: site.link.snapshot()["left_open"] is None)
    site.prepare()
    site.ask_to_start()


def test_second_supervisor_on_the_same_directory_is_refused_in_a_sentence(site: Site) -> None:
    site.start()
    second = site.said("daemon", "--data", str(site.data), "--furnace-socket", str(site.socket))
    assert second.returncode == 2
    assert f"{site.data} is being written by process" in second.stderr
    assert second.stderr.count("\n") == 1
    assert site.state() == "stopped"


def test_second_supervisor_on_the_same_furnace_is_refused_in_a_sentence(site: Site, tmp_path: Path) -> None:
    site.start()
    second = site.said("daemon", "--data", str(tmp_path / "other"), "--furnace-socket", str(site.socket))
    assert second.returncode == 2
    assert "another supervisor has this furnace" in second.stderr
    assert second.stderr.count("\n") == 1
    assert site.state() == "stopped"


def test_simulated_supervisor_refuses_the_directory_of_a_real_furnace(site: Site) -> None:
    with open_directory(site.data, backend="pi", furnace="workshop"):
        pass
    refused = site.said("daemon", "--data", str(site.data), "--furnace-socket", str(site.socket))
    assert refused.returncode == 2
    assert "born real" in refused.stderr
    assert refused.stderr.count("\n") == 1


def test_supervisor_of_another_furnace_refuses_the_directory(site: Site) -> None:
    site.start()
    site.signal(signal.SIGTERM)
    assert site.daemon is not None
    site.daemon.wait(60)
    refused = site.said("daemon", "--furnace", "bench", "--data", str(site.data), "--furnace-socket", str(site.socket))
    assert refused.returncode == 2
    assert "belongs to the furnace 'workshop'" in refused.stderr


def test_supervisor_without_a_furnace_says_that_it_cannot_run(tmp_path: Path, site: Site) -> None:
    refused = site.said("daemon", "--data", str(tmp_path / "data"))
    assert refused.returncode == 2
    assert "workshop is an invented furnace" in refused.stderr


def test_supervisor_that_loses_its_furnace_ends_and_says_so(site: Site) -> None:
    site.start()
    assert site.furnace is not None
    site.furnace.kill()
    site.furnace.wait()
    assert site.daemon is not None
    assert site.daemon.wait(60) == 1


def test_status_and_stop_speak_to_the_supervisor(site: Site) -> None:
    silent = site.said("status", "--data", str(site.data))
    assert silent.returncode == 4
    assert "unknown: look at it" in silent.stderr
    site.start()
    site.fire()
    status = site.said("status", "--data", str(site.data))
    assert status.returncode == 0
    assert "running" in status.stdout
    stop = site.said("stop", "--data", str(site.data))
    assert stop.returncode == 0
    assert stop.stdout.endswith("Off, proved.\n")
    assert not site.level("contactor")
    site.signal(signal.SIGSTOP)
    old = site.said("status", "--data", str(site.data))
    unconfirmed = site.said("stop", "--data", str(site.data))
    site.signal(signal.SIGCONT)
    assert old.returncode == 4
    assert unconfirmed.returncode == 4
    assert "switch off at the furnace" in unconfirmed.stderr


def test_temperature_is_what_it_was_when_the_supervisor_comes_back(site: Site) -> None:
    site.bench(bench="inject", fault="sensor_drift", value=0.5)
    site.start()
    site.let_pass(4.0)
    site.kill()
    before_c = site.bench(bench="state")["plant"]["hot_junction_c"]
    site.start()
    assert site.link.snapshot()["hot_junction"]["c"] >= before_c - 1.0
