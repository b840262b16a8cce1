"""The loop on a simulated furnace in virtual time, with real link and log: what it carries and what it waits for."""

import socket
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

import pytest

from supervisor.firing.states import State
from supervisor.link.server import LinkServer
from supervisor.logbook.records import FiringClosed, Record
from tests.supervisor.loop_at_hand import Script, Stand
from tests.supervisor.wire import Wire


def test_commands_reach_the_core_and_answers_their_sender(stand: Stand) -> None:
    stand.run(stand.fire())
    assert stand.memory.firing.state is State.STOPPED


def test_heat_waits_for_its_event_to_be_on_disk(stand: Stand) -> None:
    def script() -> Script:
        yield from stand.fire()
        for _ in range(60):
            yield

    stand.disk.asleep = True
    stand.run(script())
    assert not [edge for edge in stand.furnace.edges if edge.line == "relay" and edge.level]


def test_disk_that_falls_asleep_ends_the_heat_within_two_seconds(stand: Stand) -> None:
    def script() -> Script:
        yield from stand.fire()
        while not stand.outputs()["relay"]:
            yield
        stand.disk.asleep = True
        stand.ask(command="note", kind="remark", text="something to write")
        asleep_s = stand.furnace.time_s
        while stand.furnace.time_s < asleep_s + 60.0:
            yield
        late = [e for e in stand.furnace.edges if e.line == "relay" and e.level and e.time_s > asleep_s + 2.5]
        assert late == []

    stand.run(script())


def test_stop_among_a_flood_is_in_the_very_next_turn(stand: Stand) -> None:
    def script() -> Script:
        yield from stand.fire()
        while not stand.outputs()["relay"]:
            yield
        flood = Wire(stand.server.path)
        flood.raw(b"".join(b'{"v":1,"command":"hold","id":"%d","who":"x"}\n' % number for number in range(500)))
        flood.settle()
        stand.ask(command="stop")
        yield
        assert not stand.outputs()["relay"]
        assert stand.answer()["answer"] == "accepted"
        flood.close()

    stand.run(script())


def test_snapshot_comes_each_second_and_at_each_change(stand: Stand, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[tuple[float, int]] = []

    def publish(shown: Mapping[str, Any]) -> None:
        seen.append((shown["monotonic_s"], shown["epoch"]))
        LinkServer.publish(stand.server, shown)

    monkeypatch.setattr(stand.server, "publish", publish)
    stand.run(stand.fire())
    assert all(later - earlier <= 1.0 for (earlier, _), (later, _) in pairwise(seen))
    epochs = [epoch for _, epoch in seen]
    assert epochs == sorted(epochs)
    assert epochs[-1] == stand.memory.epoch > epochs[0]


def test_what_was_left_is_closed_once_it_was_reset(stand: Stand) -> None:
    stand.memory.firing.left_open = "A-001 ended without its closing record."
    written = FiringClosed(1, 5000, "interrupted", None, {})
    asked: list[int] = []

    def after_reset(t_ms: int) -> list[Record]:
        asked.append(t_ms)
        return [written]

    def script() -> Script:
        for _ in range(8):
            yield
        assert asked == []
        stand.ask(command="reset", found="the plug was pulled")
        yield
        assert stand.answer()["answer"] == "accepted"
        stand.furnace.press(4.0)
        for _ in range(24):
            yield

    stand.run(script(), after_reset=after_reset)
    assert len(asked) == 1
    assert written in stand.disk.kept


def test_nobody_following_any_more_is_known_with_its_moment(stand: Stand) -> None:
    seen: list[tuple[int, float | None]] = []

    def look() -> None:
        seen.append((stand.memory.firing.readers, stand.memory.firing.readers_gone_s))

    def script() -> Script:
        yield
        yield
        look()
        wire = Wire(stand.server.path)
        wire.say(ask="watch", readers=2)
        wire.hear()
        yield
        yield
        look()
        wire.close()
        other = Wire(stand.server.path)
        other.settle()
        other.settle()  # by now the link has seen the other hang up
        other.close()
        yield
        yield
        look()

    stand.run(script())
    (first, gone), (second, there), (third, since_s) = seen
    assert (first, gone) == (0, None), "nobody ever did"
    assert (second, there) == (2, None)
    assert third == 0
    assert since_s == pytest.approx(stand.furnace.time_s, abs=1.0)


def test_a_clock_that_jumps_is_written_down_and_changes_no_duration(stand: Stand) -> None:

    def script() -> Script:
        for jump_s in (0.0, 3600.0, -7200.0, 0.6):
            stand.utc_s += jump_s
            for _ in range(20):
                stand.utc_s += 0.25
                yield

    stand.memory.backend = "pi"
    began_s = stand.furnace.time_s
    stand.run(script())
    assert [row.detail["by_s"] for row in stand.events("clock jumped")] == pytest.approx([3600.0, -7200.0], abs=0.6)
    assert stand.memory.belief.monotonic_s - began_s == pytest.approx(20.0, abs=1.5)
    assert stand.memory.firing.state is State.STOPPED


def test_no_date_counts_from_before_the_latest_that_was_recorded(stand: Stand) -> None:
    latest_ms = round(stand.utc_s * 1000) + 86_400_000

    def script() -> Script:
        yield
        yield

    stand.run(script(), latest_utc_ms=latest_ms)
    assert stand.memory.firing.reach.utc_ms == latest_ms


def test_a_disk_in_trouble_is_counted_from_when_it_was_last_sound(stand: Stand) -> None:
    seen: list[float] = []

    def script() -> Script:
        for _ in range(8):
            yield
        seen.append(stand.memory.log.trouble_for_s)
        stand.disk.broken = "the card is gone"
        for _ in range(40):
            yield
        seen.append(stand.memory.log.trouble_for_s)

    stand.run(script())
    assert seen == [0.0, pytest.approx(10.0, abs=0.5)]
    assert stand.memory.log.free_mb is not None


def test_manager_hears_ready_status_and_one_sign_of_life_a_turn(stand: Stand) -> None:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(str(stand.data / "notify"))
        manager.setblocking(False)

        def script() -> Script:
            yield
            yield
            yield

        stand.run(script())
        heard = []
        while True:
            try:
                heard.append(manager.recv(4096).decode())
            except BlockingIOError:
                break
    assert heard[0].startswith("STATUS=The furnace is stopped")
    assert heard[1:] == ["READY=1", "WATCHDOG=1", "WATCHDOG=1", "WATCHDOG=1", "STOPPING=1", "WATCHDOG=1"]
