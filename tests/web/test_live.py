"""The stream: what is sent, to how many, and what one that comes back is told."""

import json
from collections.abc import Iterator
from typing import Any

from flask import Flask

from tests.web.conftest import Browser, Clock, parts
from tests.web.scripted import Scripted
from tests.web.snapshots import GATE, HEATING
from tests.web.snapshots_trouble import TRIPPED
from web.feed import MOST_STREAMS


def events(answer: Any) -> Iterator[tuple[str, dict[str, Any]]]:
    """Kind and data of each event, as they come."""
    for chunk in answer.response:
        text = chunk.decode() if isinstance(chunk, bytes) else chunk
        lines = dict(line.split(": ", 1) for line in text.strip().split("\n") if not line.startswith(":"))
        if "event" in lines:
            yield lines["event"], json.loads(lines["data"])


def test_a_stream_begins_with_the_whole_page_and_goes_on_with_what_changed(phone: Browser, furnace: Scripted) -> None:
    furnace.show(HEATING)
    furnace.wait(0.5)
    with phone.get("/live?page=now", buffered=False) as answer:
        assert answer.mimetype == "text/event-stream"
        assert answer.headers["Cache-Control"] == "no-store"
        came = events(answer)
        kind, first = next(came)
        assert kind == "live"
        parts = {"head", "signs", "back", "cut", "figs", "asks", "levers", "doing", "tb", "stop", "acts", "who"}
        assert parts == set(first["regions"])
        assert first["age_s"] < 1
        assert first["point"]["c"] == 276.3
        furnace.show(HEATING, hot_junction={"c": 277.4, "age_s": 0.0, "fault": None})
        for kind, news in came:
            if kind == "live" and news["regions"]:
                break
        assert "277" in news["regions"]["figs"]
        assert "tb" not in news["regions"]


def test_silence_is_told_with_its_age(phone: Browser, furnace: Scripted) -> None:
    furnace.turning = False
    furnace.wait(0.2)
    with phone.get("/live?page=now", buffered=False) as answer:
        came = events(answer)
        assert next(came)[0] == "live"
        kind, told = next(came)
    assert kind == "age"
    assert told["age_s"] >= 1


def test_one_that_comes_back_is_told_what_happened(phone: Browser, furnace: Scripted) -> None:
    furnace.show(HEATING)
    furnace.wait(0.6)
    before = phone.get("/live.json").json["live"]["id"]
    furnace.show(GATE)
    furnace.wait(0.3)
    furnace.show(TRIPPED)
    furnace.wait(0.3)
    with phone.get(f"/live?page=now&after={before}", buffered=False) as answer:
        kind, told = next(events(answer))
    assert kind == "away"
    sentences = [sentence for _, sentence in told["happened"]]
    assert "The gate asked for a press." in sentences
    assert "Alarm: The sensor wire broke." in sentences
    assert sentences.index("The gate asked for a press.") < sentences.index("Alarm: The sensor wire broke.")
    with phone.get("/live", headers={"Last-Event-ID": before}, buffered=False) as answer:
        assert next(events(answer))[0] == "away"


def test_one_with_an_id_of_another_run_is_sent_to_the_log(phone: Browser) -> None:
    for after in ("deadbeef-3", f"{'x' * 300}-1", "deadbeef-", "0-0"):
        told = phone.get(f"/live.json?after={after}").json
        assert "The log has it all" in told["away"]["happened"][0][1]


def test_the_stream_too_many_is_told_so_and_the_page_still_answers(app: Flask, phone: Browser, time: Clock) -> None:
    feed = parts(app).feed
    places = [feed.stream() for _ in range(MOST_STREAMS)]
    assert all(place.__enter__() for place in places)
    with phone.get("/live", buffered=False) as answer:
        assert [kind for kind, _ in events(answer)] == ["full"]
    assert phone.get("/live.json").json["live"]["regions"]
    places[0].__exit__(None, None, None)
    with phone.get("/live", buffered=False) as answer:
        assert next(events(answer))[0] == "live"


def test_a_place_is_given_back_when_the_phone_goes(app: Flask, phone: Browser) -> None:
    for _ in range(3):
        with phone.get("/live", buffered=False) as answer:
            next(events(answer))
    with parts(app).feed.stream() as placed:
        assert placed
    assert parts(app).feed._streams == 0


def test_the_supervisor_coming_back_is_noticed(phone: Browser, furnace: Scripted) -> None:
    first = phone.get("/live.json").json["live"]["id"]
    furnace.wait(1.0)
    assert phone.get("/live.json").json["live"]["id"] != first
