"""The link in a crowd: floods, deaf clients and stops without end keep no stop away."""

import contextlib
import socket
import threading

from supervisor.firing.commands import Hold, Lower, Stop
from supervisor.link.inbox import MOST_A_TURN, MOST_STOPPERS, MOST_WAITING, Inbox
from supervisor.link.server import MOST_CLIENTS, MOST_UNREAD, LinkServer
from tests.supervisor.link_at_hand import SNAPSHOT, Now, said, turn, waited_turn
from tests.supervisor.wire import Wire


def test_stop_behind_a_flood_on_the_same_connection_is_in_the_next_turn(server: LinkServer, wire: Wire) -> None:
    flood = b"".join(b'{"v":1,"command":"hold","id":"%d","who":"x"}\n' % number for number in range(2000))
    flooder = Wire(server.path)
    reader = threading.Thread(target=flooder.lines.read)
    reader.start()
    flooder.raw(flood + b'{"command":"stop","id":"last"}\n')
    flooder.socket.shutdown(socket.SHUT_WR)
    reader.join(5.0)
    commands = waited_turn(server, wire)
    assert [type(command) for command in commands] == [Stop, *[Hold] * MOST_A_TURN]
    assert len([*commands, *(late for _ in range(20) for late in turn(server))]) == 1 + MOST_WAITING
    flooder.close()


def test_client_that_does_not_read_is_dropped_and_its_stop_still_heard(server: LinkServer) -> None:
    server.publish({**SNAPSHOT, "long": "x" * (MOST_UNREAD // 4)})
    deaf = Wire(server.path)
    deaf.raw(b'{"v":1,"ask":"snapshot"}\n' * 400 + b'{"command":"stop"}\n')
    with contextlib.suppress(ConnectionResetError):
        assert len(deaf.lines.read()) < 400 * MOST_UNREAD // 4  # it ends before all is answered
    assert [type(command) for command in turn(server)] == [Stop]
    deaf.close()


def test_crowd_of_connections_pushes_out_the_one_unheard_longest(server: LinkServer, now: Now) -> None:
    first = Wire(server.path)
    first.say(ask="snapshot")
    first.hear()
    crowd = []
    for _ in range(MOST_CLIENTS):
        now.s += 1.0
        crowd.append(Wire(server.path))
        crowd[-1].say(ask="snapshot")
        assert crowd[-1].hear()["epoch"] == 12
    assert first.lines.readline() == b""
    last = Wire(server.path)
    last.say(command="stop", id="s1")
    assert [type(command) for command in waited_turn(server, last)] == [Stop]
    for each in (first, last, *crowd):
        each.close()


def test_line_too_long_is_refused_and_ends_the_connection(server: LinkServer, wire: Wire) -> None:
    wire.raw(b'{"v":1,"command":"note","text":"' + b"x" * 70_000)
    assert "allowed: fewer than 65536" in wire.hear()["sentence"]
    assert wire.lines.readline() == b""


def test_many_stops_of_one_turn_act_as_one_and_are_all_answered(now: Now) -> None:
    inbox: Inbox[str] = Inbox(now)
    for number in range(100):
        assert inbox.post(said(Stop, str(number), f"sender {number % 10}"), f"client {number}", b"").answer is None
    tickets = inbox.take()
    assert len(tickets) == MOST_STOPPERS
    assert sorted(own_id for ticket in tickets for _, own_id in ticket.reply.waiting) == sorted(map(str, range(100)))
    assert inbox.take() == []


def test_full_inbox_refuses_all_but_stop_and_lower(now: Now) -> None:
    inbox: Inbox[str] = Inbox(now)
    for number in range(MOST_WAITING):
        assert inbox.post(said(Hold, str(number)), "client", b"%d" % number).answer is None
    refused = inbox.post(said(Hold, "one more"), "client", b"x").answer
    assert refused is not None
    assert not refused.accepted
    assert inbox.post(said(Lower, "lower"), "client", b"y").answer is None
    assert inbox.post(said(Stop, "stop"), "client", b"z").answer is None
    assert isinstance(inbox.take()[0].command, Stop)


def test_stops_without_end_are_all_accepted_while_one_waits(now: Now) -> None:
    inbox: Inbox[str] = Inbox(now)
    answers = [inbox.post(said(Stop, str(number)), "client", b"").answer for number in range(10_000)]
    assert all(answer is None or answer.accepted for answer in answers)
    assert sum(answer is None for answer in answers) < 5000
