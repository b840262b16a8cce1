"""How the loop ends on a simulated furnace in virtual time: by a signal, by any fault, and always with heat off."""

import sqlite3
from contextlib import closing

import pytest

from hardware.ports import OutputFault
from supervisor.logbook.records import FiringClosed
from supervisor.loop import ENDS_WITHIN_S, LoopFault
from tests.supervisor.loop_at_hand import ALL_OFF, Script, Stand


def test_signal_stops_heating_closes_the_firing_and_switches_off(stand: Stand) -> None:
    def script() -> Script:
        yield from stand.fire()
        while not stand.outputs()["relay"]:
            yield

    stand.run(script())
    assert stand.outputs() == ALL_OFF
    (closed,) = [row for row in stand.disk.kept if isinstance(row, FiringClosed)]
    assert closed.state == "stopped"


@pytest.mark.parametrize("where", ["sample", "apply"])
@pytest.mark.parametrize(
    "error", [OutputFault("relay did not read back"), RuntimeError("a bug"), ConnectionError("gone")]
)
def test_any_exception_ends_with_everything_off_and_says_why_in_the_log(
    stand: Stand, where: str, error: Exception
) -> None:
    def script() -> Script:
        yield from stand.fire()
        while not stand.outputs()["relay"]:
            yield
        setattr(stand.hardware, f"breaks_in_{where}", error)
        yield

    with pytest.raises(type(error), match=str(error)):
        stand.run(script())
    assert not stand.outputs()["relay"]
    assert not stand.outputs()["enable"]
    (event,) = stand.events("exception")
    assert event.firing_id == 1
    assert event.detail["to"] == "aborting"
    assert str(error) in event.detail["why"]
    with closing(sqlite3.connect(stand.data / "furnace.db")) as log:
        assert log.execute("SELECT count(*) FROM event WHERE kind = 'exception'").fetchone() == (1,)


def test_why_it_ended_is_in_the_log_also_where_the_pins_cannot_be_let_go(stand: Stand) -> None:
    def script() -> Script:
        yield
        stand.hardware.breaks_in_sample = RuntimeError("a bug")
        stand.hardware.breaks_in_close = OSError("the chip is gone")
        yield

    with pytest.raises(RuntimeError, match="a bug"):
        stand.run(script())
    stand.hardware.breaks_in_close = None
    (event,) = stand.events("exception")
    assert "a bug" in event.detail["why"]


def test_contactor_falls_out_after_an_exception_and_the_permit_is_not_moved(stand: Stand) -> None:
    def script() -> Script:
        yield from stand.fire()
        stand.hardware.breaks_in_sample = RuntimeError("a bug")
        yield

    with pytest.raises(RuntimeError):
        stand.run(script())
    edges = len(stand.furnace.edges)
    for _ in range(12):
        stand.furnace.step()
    assert not stand.furnace.interlock.poles_closed
    assert "permit" not in [edge.line for edge in stand.furnace.edges[edges:]]


def test_loop_does_not_heat_on_without_its_link(stand: Stand) -> None:
    def script() -> Script:
        yield from stand.fire()
        stand.server.close()
        yield

    with pytest.raises(LoopFault, match="no stop would come through"):
        stand.run(script())
    assert stand.outputs() == ALL_OFF


def test_end_does_not_wait_for_ever_for_a_proof(stand: Stand) -> None:
    def script() -> Script:
        yield from stand.fire()
        stand.furnace.inject("contactor_welded")

    stand.run(script())
    assert stand.outputs() == ALL_OFF
    assert stand.furnace.time_s < 60.0 + ENDS_WITHIN_S
