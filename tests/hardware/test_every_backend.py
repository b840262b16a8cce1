"""What every maker of FurnaceHardware keeps to. A new backend is one more row of MAKERS."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import pytest

from hardware.ports import CYCLE_S, OFF, FurnaceHardware, Level, Permit, Reading, Sample, SensorFault
from hardware.simulated.bench import act
from hardware.simulated.client import ConnectedFurnace
from hardware.simulated.furnace import Furnace
from hardware.simulated.in_process import InProcess
from tests.end_to_end.waiting import until
from tests.hardware.mock_pi import MockPi
from tests.hardware.test_process import Host
from tests.hardware.tiny import HEAT, TOGGLE, WIRING, TinyPlant

pytestmark = pytest.mark.processes


class Bench(NamedTuple):
    """One backend with the means to break its sensor and to see its pins."""

    hardware: FurnaceHardware
    do: Callable[..., object]  # a lever of the furnace, by its name on the bench: do("inject", fault="sensor_open")
    pins: Callable[[], dict[str, bool]]


def levers(furnace: Furnace) -> Callable[..., object]:
    def do(lever: str, **fields: object) -> object:
        answer = act(furnace, {"bench": lever, **fields})
        assert answer["ok"], answer
        return answer

    return do


@contextmanager
def in_process(folder: Path) -> Iterator[Bench]:
    furnace = Furnace(TinyPlant(), WIRING, seed=1, limiter_c=900.0)
    yield Bench(InProcess(furnace), levers(furnace), lambda: dict(furnace.outputs))


@contextmanager
def pi(folder: Path) -> Iterator[Bench]:
    mock = MockPi(Furnace(TinyPlant(), WIRING, seed=1, limiter_c=900.0))
    yield Bench(mock.hardware, levers(mock.furnace), lambda: dict(mock.furnace.outputs))


@contextmanager
def connected(folder: Path) -> Iterator[Bench]:
    host = Host(folder, times_real=60.0)
    try:
        hardware = ConnectedFurnace(host.socket, WIRING)
        yield Bench(hardware, host.do, lambda: host.state()["outputs"])
        hardware.close()
    finally:
        host.close()


MAKERS = {"in the process": in_process, "behind a socket": connected, "a Pi of mock pins": pi}

SICK = {
    "sensor_open": "open circuit",
    "sensor_short_to_ground": "short circuit to ground",
    "sensor_short_to_supply": "short circuit to supply",
    "bus_all_zeros": "no answer",
    "bus_all_ones": "no answer",
    "bus_silent": "no answer",
    "bus_half_frame": "damaged frame",
    "bus_error": "bus error",
    "bus_blocks": "answer came too late",
}
"""Every fault of sensor and bus that shows in a single frame, and the reason it must come out as."""


@pytest.fixture(params=MAKERS)
def bench(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Bench]:
    with MAKERS[request.param](tmp_path) as made:
        yield made


def test_samples_lie_on_the_grid_and_never_go_back(bench: Bench) -> None:
    times_s = []
    for _ in range(12):
        times_s.append(bench.hardware.sample().monotonic_s)
        bench.hardware.apply(OFF)
    for earlier, later in pairwise(times_s):
        assert later > earlier
        assert (later - earlier) / CYCLE_S == pytest.approx(round((later - earlier) / CYCLE_S))


def after_some_turns(bench: Bench, turns: int = 3) -> Sample:
    """The sample that shows what was just done: behind a socket a lever and a sample may cross."""
    for _ in range(turns):
        bench.hardware.apply(OFF)
        sample = bench.hardware.sample()
    return sample


def test_faults_of_sensor_and_bus_are_reasons_and_never_numbers_and_go_again(bench: Bench) -> None:
    assert isinstance(bench.hardware.sample().sensors[0], Reading)
    for fault, reason in SICK.items():
        bench.do("inject", fault=fault)
        (sick,) = after_some_turns(bench).sensors
        assert isinstance(sick, SensorFault), fault
        assert sick.reason.startswith(reason)
        bench.do("mend", fault=fault)
    assert isinstance(after_some_turns(bench, 6).sensors[0], Reading)


def test_every_lever_comes_in_by_its_own_line(bench: Bench) -> None:
    bench.hardware.sample()
    moves: list[tuple[str, dict[str, bool], set[str]]] = [
        ("emergency_stop", {"pressed": True}, {"emergency_stop", "limiter"}),
        ("emergency_stop", {"pressed": False}, set()),
        ("key", {"on": False}, {"key"}),
        ("key", {"on": True}, set()),
        ("lid", {"open": True}, {"lid"}),
        ("lid", {"open": False}, set()),
    ]
    for lever, fields, opened in moves:
        bench.do(lever, **fields)
        inputs = after_some_turns(bench).inputs
        healthy = ("emergency_stop", "limiter", "key", "lid", "mirror", "mains")
        assert {line for line in healthy if getattr(inputs, line) is Level.OPEN} == opened
    bench.do("hold")
    assert after_some_turns(bench).inputs.reset_button is Level.CLOSED
    bench.do("release")
    assert after_some_turns(bench).inputs.reset_button is Level.OPEN


def test_the_contactor_goes_in_by_permit_and_press_and_current_is_seen(bench: Bench) -> None:
    for _ in range(4):
        bench.hardware.sample()
        bench.hardware.apply(TOGGLE)
    bench.do("hold")
    for _ in range(6):
        inputs = bench.hardware.sample().inputs
        bench.hardware.apply(HEAT)
    bench.do("release")
    assert inputs.mirror is Level.OPEN
    assert inputs.chain is inputs.permit_relay_1 is inputs.permit_relay_2 is Level.CLOSED
    assert inputs.load_current is Level.CLOSED


def test_what_is_fitted_says_open_or_closed(bench: Bench) -> None:
    inputs = bench.hardware.sample().inputs
    assert Level.NOT_FITTED not in inputs
    assert inputs.mirror is Level.CLOSED  # the contactor is proved open before anything was told


def test_the_permit_moves_once_a_cycle_and_only_when_told(bench: Bench) -> None:
    levels = []
    for outputs in (TOGGLE, TOGGLE, TOGGLE, OFF, OFF):
        bench.hardware.sample()
        bench.hardware.apply(outputs)
        levels.append(bench.pins()["permit"])
    assert levels == [True, False, True, True, True]
    bench.hardware.sample()
    bench.hardware.apply(OFF._replace(permit=Permit.LOW))
    assert bench.pins()["permit"] is False


@pytest.mark.parametrize("line", ["relay", "enable"])
def test_only_true_and_false_reach_an_output(bench: Bench, line: str) -> None:
    bench.hardware.sample()
    bench.hardware.apply(HEAT)
    with pytest.raises(TypeError):
        bench.hardware.apply(HEAT._replace(**{line: "off"}))  # type: ignore[arg-type]  # the point of the test
    pins = bench.pins()
    assert not pins["relay"]
    assert not pins["enable"]


def test_closed_means_off(bench: Bench) -> None:
    for _ in range(3):
        bench.hardware.sample()
        bench.hardware.apply(HEAT)
    assert bench.pins()["relay"]
    bench.hardware.close()

    def off() -> bool:  # behind a socket the pins move when the line has been read, not when it was written
        pins = bench.pins()
        return not pins["relay"] and not pins["enable"]

    until("both outputs off", off, within_s=2.0)
