"""The loop on a real furnace of mock pins: whole firings, and how they end, in virtual time."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from hardware.ports import OutputFault
from hardware.simulated.furnace import Furnace
from supervisor.firing.states import State
from supervisor.logbook.directory import open_directory
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import EventRow, FiringClosed
from supervisor.logbook.scribe import Scribe
from tests.hardware.mock_pi import MockPi
from tests.supervisor.loop_at_hand import ALL_OFF, Script, Stand


class OnAPi(Stand):
    """The same stand, its furnace behind the Pi's backend."""

    def __init__(self, path: Path, scribe: Scribe) -> None:
        def on(furnace: Furnace) -> object:
            self.pi = MockPi(furnace)
            return self.pi.hardware

        super().__init__(path, scribe, on)  # type: ignore[arg-type]  # it is FurnaceHardware

    def heat(self) -> Script:
        """From stopped until the relay is on."""
        yield from self.fire()
        while not self.outputs()["relay"]:
            yield

    def opened_s(self) -> float:
        """When the contactor opened, by the furnace's own record."""
        (edge,) = [edge for edge in self.furnace.edges if edge.line == "contactor" and not edge.level]
        return edge.time_s


@pytest.fixture
def stand(tmp_path: Path) -> Iterator[OnAPi]:
    with (
        open_directory(tmp_path, backend="pi", furnace="workshop") as kept,
        Scribe(kept, boot_id="b", utc_ms=lambda: 1_789_000_000_000, threaded=False) as scribe,
    ):
        stand = OnAPi(tmp_path, scribe)
        yield stand
        if stand.wire is not None:
            stand.wire.close()
        stand.server.close()
        stand.notifier.close()


def test_a_whole_firing_is_kept_as_one_of_a_real_furnace(stand: OnAPi) -> None:
    def script() -> Script:
        yield from stand.fire()
        while stand.memory.firing.state is not State.COMPLETE:
            if stand.memory.firing.button.question is not None and stand.furnace.time_s % 5.0 == 0.0:
                stand.furnace.press(0.5)
            yield

    stand.run(script())
    (closed,) = [row for row in stand.disk.kept if isinstance(row, FiringClosed)]
    assert closed.state == "complete"
    assert closed.results["peak_c"] > 240.0
    assert stand.outputs() == ALL_OFF
    with open_log(stand.data) as log:
        (firing,) = log.firings()
        assert (firing.backend, firing.state) == ("pi", "complete")
        assert log.kind() == "real"


def test_a_signal_stops_it_and_off_is_there_within_the_second(stand: OnAPi) -> None:
    stand.run(stand.heat())
    ordered_s = max(edge.time_s for edge in stand.furnace.edges if edge.line == "relay" and not edge.level)
    stand.pi.wait(3.0)
    assert stand.outputs() == ALL_OFF
    assert stand.opened_s() - ordered_s <= 1.0
    (closed,) = [row for row in stand.disk.kept if isinstance(row, FiringClosed)]
    assert closed.state == "stopped"


def test_an_exception_in_the_cycle_ends_with_everything_off(stand: OnAPi) -> None:
    def script() -> Script:
        yield from stand.heat()
        stand.memory.window = None  # type: ignore[assignment]  # a fault of ours in the middle of a cycle
        yield

    with pytest.raises(AttributeError):
        stand.run(script())
    failed_s = stand.furnace.time_s
    stand.pi.wait(3.0)
    assert stand.outputs() == ALL_OFF
    assert stand.opened_s() - failed_s <= 0.1
    (event,) = [row for row in stand.disk.kept if isinstance(row, EventRow) and row.kind == "exception"]
    assert event.detail["to"] == "aborting"


@pytest.mark.parametrize("line", ["relay", "enable", "permit"])
def test_a_pin_that_is_lost_in_the_middle_ends_the_heat(stand: OnAPi, line: str) -> None:
    def lost(value: bool) -> None:
        raise OSError(19, "No such device")

    def script() -> Script:
        yield from stand.heat()
        stand.pi.pins.pin(getattr(stand.furnace.wiring, line))._set_state = lost
        for _ in range(40):
            yield

    with pytest.raises(OutputFault):
        stand.run(script())
    ended_s = stand.furnace.time_s
    stand.pi.wait(3.0)
    assert not stand.furnace.interlock.powered
    assert stand.opened_s() - ended_s <= 2.1
    others = {"relay", "enable", "permit"} - {line}
    assert {name for name in others if stand.outputs()[name]} == set()


class Killed(BaseException):
    """The process is gone at once: nothing of ours runs after it."""


def test_killed_in_the_middle_the_permit_lets_go_and_the_next_process_starts_cold(stand: OnAPi) -> None:
    def script() -> Script:
        yield from stand.heat()
        stand.pi.kill()
        raise Killed

    stand.hardware.close = lambda: None  # type: ignore[method-assign]  # kill -9 closes nothing
    with pytest.raises(Killed):
        stand.run(script())
    killed_s = stand.furnace.time_s
    stand.pi.wait(3.0)
    assert stand.outputs()["relay"]  # as the kernel leaves it
    assert stand.opened_s() - killed_s <= 2.1
    assert not stand.furnace.interlock.powered
    stand.pi.restart()
    assert stand.outputs() == ALL_OFF
    stand.pi.hardware.close()
