"""The link over a real socket: who is answered, what acts once, and that nobody can keep a stop away."""

import contextlib
import socket
import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from supervisor.firing.commands import Answer, By, Command, Hold, Lower, Stop
from supervisor.firing.profile import Profile
from supervisor.link.client import Link, LinkSilent, adopt_message, headline
from supervisor.link.inbox import MOST_A_TURN, MOST_STOPPERS, MOST_WAITING, Inbox
from supervisor.link.server import MOST_CLIENTS, MOST_UNREAD, LinkServer
from supervisor.logbook.reading import KeptModel
from supervisor.refusal import InputRefused
from tests.supervisor.wire import Wire

SNAPSHOT: dict[str, Any] = {"v": 1, "epoch": 12, "state": "stopped"}


class Now:
    """A clock that only a test moves."""

    def __init__(self) -> None:
        self.s = 1000.0

    def __call__(self) -> float:
        return self.s


def no_profile(_: str) -> Profile:
    raise ValueError("segments is missing; allowed: at least one.")


@pytest.fixture
def now() -> Now:
    return Now()


@pytest.fixture
def server(tmp_path: Path, now: Now) -> Iterator[LinkServer]:
    server = LinkServer(tmp_path / "link.sock", no_profile, now)
    server.publish(SNAPSHOT)
    server.start()
    yield server
    server.close()


@pytest.fixture
def wire(server: LinkServer) -> Iterator[Wire]:
    wire = Wire(server.path)
    yield wire
    wire.close()


def said(kind: type[Hold | Stop | Lower], own_id: str, who: str = "Ada") -> Command:
    by = By(own_id, who, "page")
    return Lower(by, 5.0) if kind is Lower else Stop(by) if kind is Stop else Hold(by)


def turn(server: LinkServer) -> list[Command]:
    """One turn of a loop that accepts everything."""
    taken = server.take()
    for ticket in taken:
        server.answer(ticket, Answer(ticket.command.by.id, True, "Done."), 13)
    return [ticket.command for ticket in taken]


def waited_turn(server: LinkServer, wire: Wire) -> list[Command]:
    """A turn that begins when everything said so far has been heard."""
    wire.settle()
    return turn(server)


# -- looking ---------------------------------------------------------------------------------------------------------


def test_snapshot_is_the_newest_with_its_age(server: LinkServer, now: Now) -> None:
    link = Link(server.path, now)
    assert link.snapshot() == {**SNAPSHOT, "age_s": 0.0}
    now.s += 2.5
    assert link.snapshot()["age_s"] == 2.5
    server.publish({**SNAPSHOT, "epoch": 13})
    assert link.snapshot() == {**SNAPSHOT, "epoch": 13, "age_s": 0.0}


def test_what_lay_unread_is_as_old_as_it_is_when_it_is_read(server: LinkServer, now: Now) -> None:
    readers_now = Now()
    watching = Link(server.path, readers_now).watch()
    assert next(watching)["age_s"] == 0.0
    for epoch in range(13, 18):
        now.s += 1.0
        server.publish({**SNAPSHOT, "epoch": epoch})
    readers_now.s = now.s + 20.0  # the reader's process stood still meanwhile
    assert [next(watching)["age_s"] for _ in range(5)] == [24.0, 23.0, 22.0, 21.0, 20.0]


def test_the_headline_tells_an_hour_by_the_clock_of_the_firing() -> None:
    parts = {"before": "Pour likely from", "key": "{hour}.", "after": "", "in_s": 600.0}
    began_ms = 1_772_366_400_000  # 2026-03-01 12:00 UTC
    snapshot = {"headline": parts, "utc_ms": 5, "firing": {"started_utc_ms": began_ms, "elapsed_s": 1800.0}}
    at = datetime.fromtimestamp(began_ms / 1000.0 + 2400.0, UTC).astimezone()
    assert headline(snapshot) == f"Pour likely from {at:%H:%M}."
    assert headline({**snapshot, "headline": {**parts, "key": "now.", "in_s": None}}) == "Pour likely from now."


def test_an_earlier_model_is_sent_as_the_log_has_it() -> None:
    kept = KeptModel(7, 12, 5, True, None, "supervisor", "learner", "fine", {"loss": 1}, {"series": []})
    message = adopt_message(kept)
    assert (message["model"], message["takes"], message["objections"]) == ({"loss": 1}, 7, [])
    assert adopt_message(kept._replace(adopted=False, note="Power moved."))["objections"] == ["Power moved."]


def test_watching_begins_at_once_and_goes_on(server: LinkServer) -> None:
    watching = Link(server.path).watch()
    assert next(watching)["epoch"] == 12
    for epoch in (13, 14, 15):
        server.publish({**SNAPSHOT, "epoch": epoch})
    assert [next(watching)["epoch"] for _ in range(3)] == [13, 14, 15]
    server.close()
    with pytest.raises(LinkSilent, match="closed the link"):
        next(watching)


def test_silence_is_an_error_that_says_so(tmp_path: Path) -> None:
    link = Link(tmp_path / "nobody.sock")
    with pytest.raises(LinkSilent, match=r"No supervisor answers at .*nobody\.sock"):
        link.snapshot()
    with pytest.raises(LinkSilent):
        link.send({"command": "hold"})


def test_socket_is_for_user_and_group_alone(server: LinkServer) -> None:
    assert server.path.stat().st_mode & 0o777 == 0o660


# -- one supervisor --------------------------------------------------------------------------------------------------


def test_second_supervisor_is_refused_while_the_first_answers(server: LinkServer) -> None:
    with pytest.raises(InputRefused, match="Another supervisor answers"):
        LinkServer(server.path, no_profile)
    assert Link(server.path).snapshot()["epoch"] == 12


def test_socket_that_nobody_answers_is_taken_over(tmp_path: Path) -> None:
    path = tmp_path / "link.sock"
    left = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    left.bind(str(path))
    left.close()
    server = LinkServer(path, no_profile)
    server.publish(SNAPSHOT)
    server.start()
    assert Link(path).snapshot()["epoch"] == 12
    server.close()
    assert not path.exists()


def test_what_is_no_socket_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "link.sock"
    path.write_text("mine")
    with pytest.raises(InputRefused, match="is no socket"):
        LinkServer(path, no_profile)
    assert path.read_text() == "mine"


def test_path_too_long_for_a_socket_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputRefused, match="a shorter --data may do"):
        LinkServer(tmp_path / ("x" * 120), no_profile)


# -- commands --------------------------------------------------------------------------------------------------------


def test_command_is_answered_with_the_loops_sentence(server: LinkServer, wire: Wire) -> None:
    wire.say(command="hold", id="h1")
    commands = waited_turn(server, wire)
    assert [type(command) for command in commands] == [Hold]
    assert commands[0].by.where == "page (same user)"
    assert wire.hear() == {"v": 1, "id": "h1", "answer": "accepted", "sentence": "Done.", "epoch": 13}


def test_client_fills_in_id_and_version(server: LinkServer, wire: Wire) -> None:
    answers = []
    sender = threading.Thread(
        target=lambda: answers.append(Link(server.path).send({"command": "hold", "who": "Ada", "where": "page"}))
    )
    sender.start()
    while sender.is_alive():
        waited_turn(server, wire)
    (answer,) = answers
    assert (answer.accepted, answer.sentence, answer.epoch) == (True, "Done.", 13)


def test_no_answer_is_unknown_and_never_done(server: LinkServer, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("supervisor.link.client.PATIENCE_S", 0.05)
    answer = Link(server.path).send({"command": "hold", "who": "Ada"})
    assert answer.accepted is None
    assert "unknown" in answer.sentence


def test_bad_message_is_refused_and_the_next_one_heard(server: LinkServer, wire: Wire) -> None:
    wire.raw(b"nonsense\n")
    assert "not JSON" in wire.hear()["sentence"]
    wire.say(command="melt", id="m1")
    refused = wire.hear()
    assert (refused["id"], refused["answer"], refused["epoch"]) == ("m1", "refused", 12)
    wire.say(command="prepare", id="p1", profile_toml="x")
    assert wire.hear()["sentence"] == "segments is missing; allowed: at least one."
    wire.say(command="hold", id="h1")
    assert len(waited_turn(server, wire)) == 1


def test_same_message_acts_once_within_a_minute_and_gets_the_same_answer(
    server: LinkServer, wire: Wire, now: Now
) -> None:
    wire.say(command="hold", id="h1")
    wire.say(command="hold", id="h1")
    assert len(waited_turn(server, wire)) == 1
    first, second = wire.hear(), wire.hear()
    assert first == second
    now.s += 59.0
    wire.say(command="hold", id="h1")
    assert wire.hear() == first
    assert waited_turn(server, wire) == []
    now.s += 2.0
    wire.say(command="hold", id="h1")
    assert len(waited_turn(server, wire)) == 1


def test_same_id_for_another_message_is_refused(server: LinkServer, wire: Wire) -> None:
    wire.say(command="lower", id="x", by_k=5)
    wire.say(command="lower", id="x", by_k=6)
    assert "used for another message" in wire.hear()["sentence"]
    assert len(waited_turn(server, wire)) == 1


def test_stop_acts_each_time_under_the_same_id(server: LinkServer, wire: Wire) -> None:
    for _ in range(3):
        wire.say(command="stop", id="s1")
        assert [type(command) for command in waited_turn(server, wire)] == [Stop]
        assert wire.hear()["answer"] == "accepted"


def test_stops_come_before_all_that_waits_longer(server: LinkServer, wire: Wire) -> None:
    for number in range(5):
        wire.say(command="hold", id=f"h{number}")
    wire.say(command="stop", id="s1")
    assert [type(command) for command in waited_turn(server, wire)] == [Stop, *[Hold] * 5]


def test_stop_without_line_feed_is_heard_at_the_end(server: LinkServer, wire: Wire) -> None:
    other = Wire(server.path)
    other.raw(b'{"command":"stop"}')
    other.socket.shutdown(socket.SHUT_WR)
    assert other.lines.read() == b""  # the server closed: it has heard
    other.close()
    assert [type(command) for command in waited_turn(server, wire)] == [Stop]


# -- crowds ----------------------------------------------------------------------------------------------------------


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


# -- who follows -----------------------------------------------------------------------------------------------------


def follow(wire: Wire, **readers: int) -> None:
    wire.say(ask="watch", **readers)
    assert wire.hear()["state"] == "stopped"


def test_people_who_follow_are_counted_and_missed(server: LinkServer, wire: Wire) -> None:
    wire.settle()
    assert server.readers == 0, "one look is not following"
    follow(wire)
    assert server.readers == 1
    pages = Wire(server.path)
    follow(pages, readers=3)
    assert server.readers == 4
    follow(pages, readers=0)  # the last phone is gone, the pages are still there
    assert server.readers == 1
    pages.close()
    wire.close()
    last = Wire(server.path)
    last.settle()
    last.settle()  # by now the server has turned, and seen the others hang up
    assert server.readers == 0
    last.close()


def test_a_number_of_readers_that_cannot_be_is_refused(server: LinkServer, wire: Wire) -> None:
    wire.say(ask="watch", readers=-1)
    assert "readers is -1; allowed: 0 to 1000 readers" in wire.hear()["sentence"]
    assert server.readers == 0


def test_a_watcher_tells_when_its_readers_change(server: LinkServer) -> None:
    people = iter((2, 2, 0))
    told = Link(server.path).watch(lambda: next(people))
    next(told)
    assert server.readers == 2
    server.publish(SNAPSHOT)
    next(told)
    next(told)  # answers the new number
    assert server.readers == 0
    del told  # the connection goes with it
