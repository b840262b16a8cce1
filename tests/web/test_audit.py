"""The record of access: who asked what, from where, and what became of it; rows are only ever added."""

import sqlite3
from contextlib import closing
from html import unescape

import pytest
from flask import Flask

from tests.web.conftest import Browser, Clock, parts
from tests.web.looking import JSON, said
from tests.web.scripted import Scripted
from tests.web.snapshots import HEATING


def kept(app: Flask) -> list[tuple[str, str, str, str]]:
    """Kind, who, role and what of each row, oldest first."""
    parts(app).audit.flush()
    rows = [row for _, row in reversed(parts(app).book.remembered(1000))]
    return [(row.kind, row.who, row.role, row.what) for row in rows]


def test_what_a_phone_asks_is_kept_with_what_became_of_it(app: Flask, phone: Browser, furnace: Scripted) -> None:
    furnace.show(HEATING)
    phone.post("/hold", headers=JSON)
    furnace.answer = (False, "It is held already.")
    phone.post("/hold", headers=JSON)
    phone.get("/melts")
    assert kept(app)[-2:] == [
        ("asked", "Ada’s phone", "run", "POST /hold: accepted"),
        ("asked", "Ada’s phone", "run", "POST /hold: refused"),
    ]


def test_refusals_are_kept(app: Flask, stranger: Browser, looker: Browser) -> None:
    stranger.get("/melts")
    looker.post("/start")
    stranger.post("/hold", headers={"Origin": "http://elsewhere.example"})
    stranger.get("/first", headers={"Host": "elsewhere.example"})
    stranger.get("/<script>")
    nobody = ("asked", "an unpaired phone", "")
    assert kept(app)[-5:] == [
        (*nobody, "GET /melts: refused"),
        ("asked", "Bo’s phone", "look", "POST /start: refused"),
        (*nobody, "POST /hold: refused"),
        (*nobody, "GET /first: refused"),
        (*nobody, "no such page: refused"),
    ]


def test_a_flood_becomes_one_row_a_minute_with_its_count(app: Flask, stranger: Browser, time: Clock) -> None:
    for _ in range(40):
        stranger.post("/stop", headers=JSON)
        stranger.get("/melts")
    time.ahead_s += 61
    rows = [row for _, row in parts(app).book.remembered(10)] if kept(app) else []
    assert sorted((row.kind, row.what, row.times) for row in rows) == [
        ("again", "GET /melts: refused", 39),
        ("again", "POST /stop: accepted", 39),
        ("asked", "GET /melts: refused", 1),
        ("asked", "POST /stop: accepted", 1),
    ]


def test_a_flood_of_all_sorts_stays_short(app: Flask, stranger: Browser, time: Clock) -> None:
    for number in range(300):
        time.ahead_s += 0.1
        stranger.get(f"/melts/{number}")
    assert len(kept(app)) <= 201


@pytest.mark.parametrize("change", ["update access_event set who = 'nobody'", "delete from access_event"])
def test_no_row_is_changed_or_taken_away(app: Flask, stranger: Browser, change: str) -> None:
    stranger.get("/melts")
    assert kept(app)
    with closing(sqlite3.connect(parts(app).book.path)) as book, pytest.raises(sqlite3.Error, match="only added to"):
        book.execute(change)


def test_a_phone_that_runs_reads_it_and_one_that_looks_does_not(app: Flask, phone: Browser, looker: Browser) -> None:
    looker.post("/hold")
    page = said(unescape(phone.get("/settings/record").text))
    assert "Bo’s phone, paired to look POST /hold: refused from 127.0.0.1" in page
    assert "Paired: Bo’s phone to look from 127.0.0.1" in page
    assert looker.get("/settings/record").status_code == 403


def test_older_rows_are_a_tap_away(app: Flask, phone: Browser, time: Clock) -> None:
    audit = parts(app).audit
    for number in range(150):
        audit.asked(("Ada", "run", "::1"), f"POST /{number}", "done", counted=False)
    newest = phone.get("/settings/record").text
    assert "POST /149: done" in newest
    assert "POST /20: done" not in newest
    older = newest.partition('href="/settings/record?before=')[2].partition('"')[0]
    assert "POST /20: done" in phone.get(f"/settings/record?before={older}").text
    for typed in ("x", "9" * 400, "-1", "²", ""):
        assert phone.get(f"/settings/record?before={typed}").status_code == 200


def test_a_book_that_cannot_be_written_stops_nothing(app: Flask, phone: Browser, furnace: Scripted) -> None:
    with closing(sqlite3.connect(parts(app).book.path, isolation_level=None)) as other:
        other.execute("begin exclusive")
        answer = phone.post("/stop", headers=JSON)
        assert answer.json["answer"] == "accepted"
        other.execute("rollback")
