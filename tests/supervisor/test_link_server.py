"""The link over a real socket: what is seen, who is answered, what acts once, and who follows."""

import socket
import threading
from datetime import UTC, datetime
from pathlib import Path

import pytest

from supervisor.firing.commands import Hold, Stop
from supervisor.link.client import Link, LinkSilent, adopt_message, headline
from supervisor.link.server import LinkServer
from supervisor.logbook.reading import KeptModel
from supervisor.refusal import InputRefused
from tests.supervisor.link_at_hand import SNAPSHOT, Now, no_profile, waited_turn
from tests.supervisor.wire import Wire

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
