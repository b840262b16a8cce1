"""A firing that nobody has prepared is forecast over the link, beside everything else that the link carries."""

import json
import select
import socket
import threading
from contextlib import ExitStack
from pathlib import Path

import pytest

from supervisor.firing import commands as c
from supervisor.link.client import Link
from supervisor.link.reckoner import MOST_RECKONED
from supervisor.link.server import LinkServer
from supervisor.link.what_if import what_if
from supervisor.metal.charge import Charge, Planned
from tests.supervisor.furnace_at_hand import furnace_at_hand, melt

WEIGHED = Planned(Charge(1.9, "6082", "solid off-cuts", 585.0, 649.4), 710.0)


def test_what_is_asked_is_what_preparing_says_and_nothing_is_prepared() -> None:
    hand = furnace_at_hand(start_c=20.0)
    hand.wait(1.0)
    found, why = what_if(hand.memory, melt(), WEIGHED)
    assert why == ""
    assert hand.memory.firing.prepared is None
    assert hand.send(c.Prepare(hand.by(), melt(), "B-001", WEIGHED)).accepted
    hand.memory.firing.adviser.reckon()
    prepared = hand.memory.firing.adviser.forecast
    assert prepared is not None
    assert found is not None  # a reading later by a step of the sensor
    assert found["minutes"] == pytest.approx(prepared.as_object()["minutes"], rel=0.002)
    assert (found["kwh"], found["learned"]) == (pytest.approx(prepared.kwh, rel=0.002), prepared.learned)


def test_what_the_pot_does_not_take_is_said() -> None:
    hand = furnace_at_hand()
    hand.wait(1.0)
    found, why = what_if(hand.memory, melt(), WEIGHED._replace(charge=Charge(9.0, "6082", "x", 585.0, 649.4)))
    assert found is None
    assert why.startswith("charge: mass_kg is 9; allowed: above 0 kg, up to 3 kg")


@pytest.fixture
def server(tmp_path: Path) -> LinkServer:
    return LinkServer(tmp_path / "link.sock", lambda text: melt())


def test_forecasts_wait_in_line_and_hold_up_nothing(server: LinkServer) -> None:
    may_end = threading.Event()

    def slow(profile: object, planned: object) -> tuple[dict[str, int], str]:
        assert may_end.wait(60.0)
        return {"kwh": 3}, ""

    server.forecast_with(slow)
    server.publish({"v": 1, "epoch": 1})
    server.start()
    with ExitStack() as stack:
        stack.callback(server.close)
        stack.callback(may_end.set)
        asking = [stack.enter_context(socket.socket(socket.AF_UNIX)) for _ in range(MOST_RECKONED + 1)]
        for each in asking:
            each.connect(str(server.path))
            each.sendall(b'{"v":1,"ask":"forecast","profile_toml":"x"}\n')
        (turned_away,), _, _ = select.select(asking, [], [], 60.0)
        assert json.loads(turned_away.recv(4096))["sentence"] == "Too many ask for a forecast. Ask again."
        assert Link(server.path).snapshot()["epoch"] == 1
        may_end.set()
        for each in (waiting for waiting in asking if waiting is not turned_away):
            each.settimeout(60.0)
            assert json.loads(each.recv(4096))["forecast"] == {"kwh": 3}


def test_a_forecast_that_fails_is_said_and_its_place_is_free_again(server: LinkServer) -> None:
    def broken(profile: object, planned: object) -> tuple[None, str]:
        raise IndexError("what it read was changed meanwhile")

    server.forecast_with(broken)
    server.publish({"v": 1, "epoch": 1})
    server.start()
    with ExitStack() as stack:
        stack.callback(server.close)
        for _ in range(MOST_RECKONED + 1):
            asked = Link(server.path).forecast({"profile_toml": "x"})
            assert asked == (None, "It could not be reckoned in this moment. Ask again.")
