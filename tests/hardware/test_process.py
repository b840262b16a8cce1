"""The simulated furnace behind its socket, in real time: supervisors that are killed, stopped, refused; the bench."""

import json
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from threading import Thread
from typing import Any

import pytest

from hardware.clock import monotonic_s, sleep_s
from hardware.ports import OFF, Level
from hardware.simulated.client import Bench, ConnectedFurnace, FurnaceGone
from hardware.simulated.furnace import Furnace
from hardware.simulated.in_process import InProcess
from hardware.simulated.process import simulate
from tests.hardware.tiny import HEAT, TOGGLE, WIRING, TinyPlant

pytestmark = pytest.mark.processes

ROOT = Path(__file__).parents[2]


class Host:
    """A furnace behind a socket, its bench, and its record."""

    def __init__(self, folder: Path, times_real: float) -> None:
        self.socket = folder / "furnace.socket"
        self.record = folder / "edges.jsonl"
        self.stop = False
        furnace = Furnace(TinyPlant(), WIRING, seed=1, limiter_c=900.0)
        self.thread = Thread(
            target=lambda: simulate(
                furnace, self.socket, times_real=times_real, record=self.record, stopped=lambda: self.stop
            )
        )
        self.thread.start()
        wait_for(self.socket.exists)
        self.bench = Bench(self.socket)

    def close(self) -> None:
        self.bench.close()
        self.stop = True
        self.thread.join()

    def state(self) -> dict[str, Any]:
        return self.bench.ask({"bench": "state"})

    def do(self, lever: str, **fields: object) -> dict[str, Any]:
        answer = self.bench.ask({"bench": lever, **fields})
        assert answer["ok"], answer
        return answer

    def edges(self, line: str) -> list[tuple[float, bool]]:
        rows = [json.loads(row) for row in self.record.read_text().splitlines()]
        return [(time_s, level) for _, time_s, its, level, _ in rows if its == line]


def wait_for(condition: Callable[[], bool], longest_s: float = 10.0) -> None:
    until_s = monotonic_s() + longest_s
    while not condition():
        assert monotonic_s() < until_s, "it did not come"
        sleep_s(0.02)


@pytest.fixture
def host(tmp_path: Path) -> Iterator[Host]:
    host = Host(tmp_path, times_real=1.0)
    yield host
    host.close()


@pytest.fixture
def fast_host(tmp_path: Path) -> Iterator[Host]:
    host = Host(tmp_path, times_real=60.0)
    yield host
    host.close()


@contextmanager
def supervisor(host: Host) -> Iterator[subprocess.Popen[str]]:
    command = [sys.executable, "-m", "tests.hardware.tiny_supervisor", str(host.socket)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as process:
        try:
            yield process
        finally:
            process.kill()


def heating(host: Host) -> None:
    """Press when the permit is there, and wait until the element has power."""
    wait_for(lambda: host.state()["contacts"]["chain_made"])
    host.do("press", seconds=0.5)
    wait_for(lambda: host.state()["contacts"]["element_on"])


def test_a_killed_supervisor_leaves_its_levels_and_the_contactor_opens(host: Host) -> None:
    with supervisor(host) as process:
        heating(host)
        process.kill()
        process.wait()
        killed_s = host.state()["time_s"]
        wait_for(lambda: not host.state()["contacts"]["contactor_closed"])
        state = host.state()
        opened_s, closed = host.edges("contactor")[-1]
        last_rise_s = [time_s for time_s, level in host.edges("permit") if level][-1]
        assert not closed
        assert state["outputs"]["relay"], "a released output keeps its level, as on the board"
        assert not state["contacts"]["element_on"]
        assert opened_s <= killed_s + 2.1 + 0.25
        assert 1.0 <= opened_s - last_rise_s <= 2.1

    with supervisor(host):  # the next one finds the furnace as it is, and no heat without a press
        wait_for(lambda: host.state()["contacts"]["chain_made"])
        state = host.state()
        assert state["plant"]["hot_junction_c"] > 20.0
        assert not state["contacts"]["contactor_closed"]
        assert not state["outputs"]["relay"]


def test_a_stopped_supervisor_loses_the_contactor_and_wakes_to_a_fresh_sample(host: Host) -> None:
    with supervisor(host) as process:
        heating(host)
        process.send_signal(signal.SIGSTOP)
        wait_for(lambda: not host.state()["contacts"]["contactor_closed"])
        woken_s = host.state()["time_s"]
        edges = len(host.edges("permit"))
        process.send_signal(signal.SIGCONT)
        wait_for(lambda: len(host.edges("permit")) > edges)
        assert process.stdout is not None
        process.kill()
        times_s = [float(line) for line in process.stdout]
        gaps_s = [later - earlier for earlier, later in pairwise(times_s)]
        assert max(gaps_s) > 1.0
        assert times_s[gaps_s.index(max(gaps_s)) + 1] > woken_s
        assert not host.state()["contacts"]["contactor_closed"]


def test_one_supervisor_at_a_time(host: Host) -> None:
    first = ConnectedFurnace(host.socket, WIRING)
    with pytest.raises(FurnaceGone, match="another supervisor has this furnace"):
        ConnectedFurnace(host.socket, WIRING)
    assert first.sample().inputs.mirror is Level.CLOSED
    first.close()
    wait_for(lambda: not host.state()["supervisor"])
    ConnectedFurnace(host.socket, WIRING).close()


def test_samples_are_those_of_the_furnace_in_the_process(fast_host: Host) -> None:
    far = ConnectedFurnace(fast_host.socket, WIRING)
    near = InProcess(Furnace(TinyPlant(), WIRING, seed=1, limiter_c=900.0))
    begun_s = far.sample().monotonic_s
    while near.sample().monotonic_s < begun_s:
        pass
    for cycle in range(200):
        outputs = HEAT if cycle % 20 < 10 else TOGGLE
        far.apply(outputs)
        near.apply(outputs)
        assert far.sample() == near.sample()
    far.close()


def test_close_leaves_every_output_low(host: Host) -> None:
    far = ConnectedFurnace(host.socket, WIRING)
    far.sample()
    far.apply(HEAT._replace(lamp=True, sounder=True))
    far.sample()
    assert set(host.state()["outputs"].values()) == {True}
    far.close()
    wait_for(lambda: not host.state()["supervisor"])
    assert set(host.state()["outputs"].values()) == {False}


def test_a_furnace_that_is_gone_is_said(tmp_path: Path) -> None:
    with pytest.raises(FurnaceGone, match="no simulated furnace at"):
        ConnectedFurnace(tmp_path / "nothing", WIRING)
    host = Host(tmp_path, times_real=1.0)
    far = ConnectedFurnace(host.socket, WIRING)
    far.sample()
    host.close()
    with pytest.raises(FurnaceGone, match="is gone"):
        far.sample()
    far.apply(OFF)
    far.close()
    assert not host.socket.exists()


def test_two_furnaces_cannot_share_a_socket(host: Host) -> None:
    with pytest.raises(OSError, match="another simulated furnace listens"):
        simulate(Furnace(TinyPlant(), WIRING, seed=1, limiter_c=900.0), host.socket)
    assert host.state()["ok"]


def test_the_pace_falls_to_1_x_while_something_wants_a_person(fast_host: Host) -> None:
    far = ConnectedFurnace(fast_host.socket, WIRING)

    def pace_while(lever: str, **fields: object) -> tuple[float, str]:
        fast_host.do(lever, **fields)
        for _ in range(2):
            far.sample()
        state = fast_host.state()
        return state["times_real"], state["slow_because"]

    for _ in range(3):
        far.sample()
    assert fast_host.state()["times_real"] == 60.0
    assert pace_while("lid", open=True) == (1.0, "the lid is open")
    assert pace_while("lid", open=False) == (60.0, "")
    assert pace_while("emergency_stop", pressed=True) == (1.0, "the emergency stop is in")
    assert pace_while("emergency_stop", pressed=False) == (60.0, "")
    assert pace_while("hold") == (1.0, "the reset button is pressed")
    assert pace_while("release") == (60.0, "")
    assert pace_while("slow", seconds=10) == (1.0, "a command was given")
    far.close()


def test_the_lamp_holds_the_pace_at_1_x_for_two_seconds_more(fast_host: Host) -> None:
    far = ConnectedFurnace(fast_host.socket, WIRING)
    far.sample()
    far.apply(OFF._replace(lamp=True))
    lit_s = far.sample().monotonic_s
    far.apply(OFF)
    far.sample()
    assert fast_host.state()["slow_because"] == "lamp or sounder want somebody"
    while fast_host.state()["slow_because"]:
        ended_s = far.sample().monotonic_s
    assert 1.75 <= ended_s - lit_s <= 2.5
    far.close()


def test_the_bench_answers_what_it_refuses(host: Host) -> None:
    def refusal(message: dict[str, object]) -> str:
        answer = host.bench.ask(message)
        assert answer["ok"] is False
        return str(answer["error"])

    assert refusal({"bench": "press"}) == "press does not know or lacks seconds"
    assert refusal({"bench": "press", "seconds": "long"}) == "seconds is 'long'; allowed: a number"
    assert refusal({"bench": "lid", "open": 1}) == "open is 1; allowed: true or false"
    assert refusal({"bench": "inject", "fault": "gremlin"}) == "inject does not know or lacks gremlin"
    assert refusal({"bench": "pace", "times_real": 100}) == "pace: times_real is 100.0; allowed: 1 to 60"
    assert refusal({"bench": "dance"}).startswith("bench is 'dance'; allowed: press, hold, release")
    assert refusal({}).startswith("bench is None; allowed:")


def test_the_bench_moves_and_shows_the_furnace(host: Host) -> None:
    host.do("inject", fault="sensor_open")
    host.do("add_charge", mass_kg=2.5, temperature_c=20, alloy="6082")
    host.do("key", on=False)
    state = host.state()
    assert state["injected"] == {"sensor_open": 1.0}
    assert state["plant"]["metal_kg"] == 2.5
    assert state["levers"]["key_on"] is False
    assert host.do("pour")["poured_kg"] == 2.5
    edges = host.do("edges", since=0)
    assert [row[2:4] for row in edges["edges"]] == [["key", False]]
    assert host.do("edges", since=edges["next"])["edges"] == []
    assert {row["name"] for row in host.do("faults")["faults"]} >= {"sensor_open", "relay_stuck_on"}


def test_a_stand_in_answers_the_lamp_of_a_furnace_that_asks(host: Host) -> None:
    refused = host.bench.ask({"bench": "answer", "on": "yes"})
    assert refused["error"] == "answer: on is 'yes'; allowed: true or false"
    assert host.state()["answers_for_you"] is False
    host.do("answer", on=True, after_s=1)
    assert host.state()["answers_for_you"] is True
