"""What every maker of FurnaceHardware keeps to. A new backend is one more row of MAKERS."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import pytest

from hardware.ports import CYCLE_S, OFF, FurnaceHardware, Level, Permit, Reading, SensorFault
from hardware.simulated.client import ConnectedFurnace
from hardware.simulated.furnace import Furnace
from hardware.simulated.in_process import InProcess
from tests.end_to_end.site import until
from tests.hardware.test_process import Host
from tests.hardware.tiny import HEAT, TOGGLE, WIRING, TinyPlant

pytestmark = pytest.mark.processes


class Bench(NamedTuple):
    """One backend with the means to break its sensor and to see its pins."""

    hardware: FurnaceHardware
    inject: Callable[[str], object]
    pins: Callable[[], dict[str, bool]]


@contextmanager
def in_process(folder: Path) -> Iterator[Bench]:
    furnace = Furnace(TinyPlant(), WIRING, seed=1, limiter_c=900.0)
    yield Bench(InProcess(furnace), furnace.inject, lambda: dict(furnace.outputs))


@contextmanager
def connected(folder: Path) -> Iterator[Bench]:
    host = Host(folder, times_real=60.0)
    try:
        hardware = ConnectedFurnace(host.socket, WIRING)
        yield Bench(hardware, lambda fault: host.do("inject", fault=fault), lambda: host.state()["outputs"])
    finally:
        host.close()


MAKERS = {"in the process": in_process, "behind a socket": connected}


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


def test_a_healthy_sensor_reads_and_a_sick_one_is_a_fault_and_no_exception(bench: Bench) -> None:
    assert isinstance(bench.hardware.sample().sensors[0], Reading)
    bench.inject("sensor_open")
    for _ in range(3):
        bench.hardware.apply(OFF)
        sample = bench.hardware.sample()
    assert isinstance(sample.sensors[0], SensorFault)
    assert sample.sensors[0].reason.startswith("open circuit")


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
