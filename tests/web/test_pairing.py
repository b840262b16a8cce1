"""A code from the console pairs one phone, once, for five minutes; the token is kept only as a digest."""

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from flask import Flask
from sqlite_utils import Database

from tests.web.conftest import Browser, Clock, pair, parts
from web import pairing
from web.book import Book, Happened, book


def enter(phone: Browser, code: str) -> int:
    return int(phone.post("/pair", data={"code": code, "name": "Ada’s phone"}).status_code)


def test_a_code_is_eight_characters_of_thirty_one(app: Flask, time: Clock) -> None:
    codes = {pairing.new_code(parts(app).book, time.utc_ms()) for _ in range(20)}
    assert len(codes) == 20
    assert all(re.fullmatch(r"[2-9A-HJKMNP-Z]{8}", code) for code in codes)
    assert len(set(pairing.LETTERS)) == len(pairing.LETTERS) == 31


def test_a_code_pairs_one_phone_once(app: Flask, stranger: Browser, time: Clock) -> None:
    code = pairing.new_code(parts(app).book, time.utc_ms())
    assert enter(stranger, f"{code[:4].lower()}-{code[4:]}") == 303
    assert stranger.get("/settings").status_code == 200
    assert enter(Browser(app), code) == 403
    assert [phone.name for phone in parts(app).book.phones()] == ["Ada’s phone"]


def test_a_code_dies_after_five_minutes(app: Flask, stranger: Browser, time: Clock) -> None:
    code = pairing.new_code(parts(app).book, time.utc_ms())
    time.ahead_s = 301
    assert enter(stranger, code) == 403


def test_a_code_dies_when_the_clock_is_set_back(app: Flask, stranger: Browser, time: Clock) -> None:
    code = pairing.new_code(parts(app).book, time.utc_ms())
    time.ahead_s = -60
    assert enter(stranger, code) == 403


def test_a_code_dies_after_five_wrong_tries(app: Flask, stranger: Browser, time: Clock) -> None:
    code = pairing.new_code(parts(app).book, time.utc_ms())
    for _ in range(5):
        assert enter(stranger, "22222222") == 403
        time.ahead_s += 20
    assert enter(stranger, code) == 403


def test_a_newer_code_kills_the_older_one(app: Flask, stranger: Browser, time: Clock) -> None:
    older = pairing.new_code(parts(app).book, time.utc_ms())
    newer = pairing.new_code(parts(app).book, time.utc_ms())
    assert enter(stranger, older) == 403
    assert enter(stranger, newer) == 303


def test_the_sixth_guess_of_a_minute_is_not_even_looked_at(stranger: Browser) -> None:
    assert [enter(stranger, "22222222") for _ in range(6)] == [403] * 5 + [429]


def test_the_cookie_is_unreadable_to_scripts_and_stays_on_its_site(app: Flask, stranger: Browser, time: Clock) -> None:
    code = pairing.new_code(parts(app).book, time.utc_ms())
    cookie = stranger.post("/pair", data={"code": code, "name": "Ada"}).headers["Set-Cookie"]
    assert re.match(r"meltkeeper-8080=[\w-]{43};", cookie)
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie


def test_the_book_holds_no_secret(app: Flask, stranger: Browser, time: Clock) -> None:
    code = pairing.new_code(parts(app).book, time.utc_ms())
    cookie = stranger.post("/pair", data={"code": code, "name": "Ada"}).headers["Set-Cookie"]
    token = cookie.partition("=")[2].partition(";")[0]
    kept = parts(app).book.path.read_bytes()
    assert token.encode() not in kept
    assert code.encode() not in kept
    assert parts(app).book.path.stat().st_mode & 0o077 == 0


def test_a_revoked_phone_sees_the_furnace_and_no_more(app: Flask, phone: Browser) -> None:
    (paired,) = parts(app).book.phones()
    assert phone.post("/settings/revoke", data={"phone": str(paired.id)}).status_code == 303
    assert phone.get("/settings").status_code == 403
    assert phone.get("/melts").status_code == 403
    assert phone.get("/first").status_code == 200


def test_a_code_to_look_pairs_a_phone_that_looks(app: Flask, stranger: Browser, time: Clock) -> None:
    assert enter(stranger, pairing.new_code(parts(app).book, time.utc_ms(), "look")) == 303
    assert [paired.role for paired in parts(app).book.phones()] == ["look"]
    assert stranger.get("/melts").status_code == 200
    assert stranger.post("/hold").status_code == 403


def test_a_phone_that_runs_pairs_another_one(app: Flask, phone: Browser, stranger: Browser) -> None:
    page = phone.post("/settings/pair", data={"role": "look"})
    assert page.headers["Cache-Control"] == "no-store"
    assert "qrline" in page.text
    found = re.search(r"[2-9A-Z]{4}-[2-9A-Z]{4}", page.text)
    assert found
    assert enter(stranger, found[0]) == 303
    assert [paired.role for paired in parts(app).book.phones()] == ["run", "look"]
    assert "role is &#39;owner&#39;; allowed: look, run." in phone.post("/settings/pair", data={"role": "owner"}).text


def test_a_phone_that_looks_gives_back_its_own_pairing_alone(app: Flask, phone: Browser, looker: Browser) -> None:
    runs, looks = parts(app).book.phones()
    assert "Ada’s phone" not in looker.get("/settings").text
    assert looker.post("/settings/revoke", data={"phone": str(runs.id)}).status_code == 400
    assert looker.post("/settings/revoke", data={"phone": str(looks.id)}).headers["Location"] == "/"
    assert [left.id for left in parts(app).book.phones()] == [runs.id]


@pytest.mark.parametrize("cold", [True, False])
def test_phones_of_a_book_from_before_roles_run_though_a_hot_furnace_lets_it_wait(data: Path, *, cold: bool) -> None:
    old = Database(data / "old.db")
    book.apply(old, stop_before="m003_roles")
    old.table("phone").insert(
        {"name": "Ada", "token_sha256": "x", "paired_utc_ms": 1, "units": "C", "light": "auto"}, pk="id"
    )
    old.table("access_event").insert({"utc_ms": 1, "kind": "paired", "who": "Ada", "address": "::1"}, pk="id")
    old.close()
    kept = Book(data / "old.db", cold=lambda: cold)
    kept.add_phone("Bo", "run", "y", 2)
    kept.put_code("z", "run", 3)
    kept.remember([Happened("paired", "Bo", "run", "::1", "", 2)])
    assert [paired.role for paired in kept.phones()] == ["run", "run"]
    assert [row.times for _, row in kept.remembered(9)] == [1, 1]
    assert kept.open_code() is not None
    with closing(sqlite3.connect(kept.path)) as opened:
        assert ("role" in {row[1] for row in opened.execute("pragma table_info(phone)")}) is cold


def test_another_phone_can_be_revoked(app: Flask, phone: Browser, stranger: Browser, time: Clock) -> None:
    pair(stranger, parts(app).book, time.utc_ms(), name="Old phone")
    other = parts(app).book.phones()[-1]
    phone.post("/settings/revoke", data={"phone": str(other.id)})
    assert [left.name for left in parts(app).book.phones()] == ["Ada’s phone"]
    assert stranger.get("/settings").status_code == 403


def test_a_token_lasts_ninety_days(phone: Browser, time: Clock) -> None:
    time.ahead_s = 91 * 86_400
    assert phone.get("/settings").status_code == 403


def test_who_paired_and_who_tried_is_written_down(app: Flask, stranger: Browser, time: Clock) -> None:
    enter(stranger, "22222222")
    enter(stranger, pairing.new_code(parts(app).book, time.utc_ms()))
    with closing(sqlite3.connect(parts(app).book.path)) as opened:
        kept = opened.execute("select kind, who, address, what from access_event order by id").fetchall()
    assert kept == [
        ("wrong code", "Ada’s phone", "127.0.0.1", ""),
        ("paired", "Ada’s phone", "127.0.0.1", "to run"),
    ]


def test_a_name_that_cannot_be_shown_is_refused(stranger: Browser) -> None:
    answer = stranger.post("/pair", data={"code": "22222222", "name": " \n "})
    assert answer.status_code == 400
    assert "allowed: 1 to 40 characters" in answer.text


def test_units_and_light_are_kept_for_this_phone(phone: Browser) -> None:
    assert phone.post("/settings", data={"units": "F", "light": "sun"}).status_code == 303
    page = phone.get("/").text
    assert 'data-light="sun"' in page
    assert "70<small> °F" in page  # 21.3 °C


def test_a_unit_that_does_not_exist_is_refused(phone: Browser) -> None:
    answer = phone.post("/settings", data={"units": "K", "light": "dark"})
    assert answer.status_code == 400
    assert "units is &#39;K&#39;; allowed: C, F." in answer.text
