"""Who may do what: stop and lowering from anybody, the furnace now from our network, all else from a paired phone."""

import re
from collections.abc import Iterator
from ipaddress import ip_network
from pathlib import Path

import pytest
from flask import Flask
from werkzeug.routing import Rule

from supervisor.firing.commands import Lower, Stop
from tests.web.conftest import ORIGIN, Browser, Clock, pair, parts
from tests.web.scripted import Scripted
from tests.web.snapshots import HEATING
from web.app import create_app
from web.config import WebConfig
from web.pages.menu import PAGES
from web.roles import Needs, needs_of


def address(rule: Rule) -> str:
    """An address that the rule takes."""
    path = re.sub(r"<any\((\w+).*?\):\w+>", r"\1", rule.rule)
    return re.sub(r"<(?:int:)?\w+>", "1", re.sub(r"<path:\w+>", "look.css", path))


def routes(app: Flask) -> Iterator[tuple[Rule, str, Needs | None]]:
    """Every rule with each of its own methods and what it asks of who uses it."""
    for rule in app.url_map.iter_rules():
        for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"}):
            yield rule, method, needs_of(app.view_functions, rule.endpoint)


def test_every_route_says_who_may_use_it(app: Flask) -> None:
    assert [rule for rule, _, needs in routes(app) if needs is None and rule.endpoint != "static"] == []


def test_what_is_open_without_pairing_is_this_short_list(app: Flask) -> None:
    open_to: dict[Needs | None, set[str]] = {}
    for rule, method, needs in routes(app):
        open_to.setdefault(needs, set()).add(rule.endpoint)
        assert needs is not Needs.HOST or method == "GET", rule
    assert open_to[Needs.NOTHING] == {"now.stop", "now.lower"}
    assert open_to[Needs.ENTRY] == {"pair.enter", "first.read"}


def test_a_route_that_says_nothing_is_refused_to_everybody(app: Flask, time: Clock) -> None:
    app.add_url_rule("/forgotten", "forgotten", lambda: "secret")
    client = Browser(app)
    pair(client, parts(app).book, time.utc_ms())
    answer = client.get("/forgotten")
    assert answer.status_code == 403
    assert "secret" not in answer.text


@pytest.mark.parametrize("asks", ["stranger", "looker"])
def test_each_route_is_refused_to_a_phone_that_is_not_paired_for_it(
    app: Flask, asks: str, time: Clock, request: pytest.FixtureRequest
) -> None:
    client: Browser = request.getfixturevalue(asks)
    refused = set()
    for rule, method, needs in routes(app):
        time.ahead_s += 10
        if needs is Needs.RUN or (needs is Needs.LOOK and asks == "stranger"):
            answer = client.open(address(rule), method=method)
            assert answer.status_code == 403, rule
            assert ("Pair it first" if asks == "stranger" else "pair it to run") in answer.text
            refused.add(rule.endpoint)
    assert {"now.command", "now.prepare", "settings.invite", "settings.kept"} <= refused
    assert ("melts.show" in refused) == (asks == "stranger")


def test_a_phone_that_looks_reads_every_page_and_no_page_offers_it_a_lever(
    looker: Browser, furnace: Scripted, time: Clock
) -> None:
    furnace.show(HEATING)
    for row in PAGES:
        time.ahead_s += 10
        answer = looker.get(row.path)
        assert answer.status_code == 200, row
        forms = set(re.findall(r'method="post" action="(/[^"]*)"', answer.text))
        assert forms <= {"/stop", "/lower", "/settings", "/settings/revoke", "/first", "/pair"}, row


def test_the_menu_shows_what_a_phone_may_open(looker: Browser, stranger: Browser) -> None:
    assert 'href="/melts"' in looker.get("/pair").text
    seen = stranger.get("/pair").text
    assert 'href="/melts"' not in seen
    assert 'href="/settings"' not in seen
    assert 'href="/first"' in seen


NEAR = ("127.0.0.1", "192.168.1.7", "10.9.8.7", "169.254.3.4", "::ffff:192.168.1.7", "fd00::7", "fe80::7%eth0")
"""Private: RFC 1918 section 3, RFC 3927, RFC 4193 section 3.1, RFC 4291 section 2.5.6."""
FAR = ("100.64.0.9", "8.8.8.8", "2600::1", "::ffff:8.8.8.8", "")
"""100.64.0.0/10 is no private network: RFC 6598 section 4."""


def test_only_the_local_network_sees_the_pages_and_a_stop_comes_from_anywhere(
    stranger: Browser, furnace: Scripted
) -> None:
    for address in (*NEAR, *FAR):
        said = {"REMOTE_ADDR": address}
        assert stranger.get("/first", environ_overrides=said).status_code == (200 if address in NEAR else 403), address
        for path in ("/stop", "/lower"):
            answer = stranger.post(path, headers={"Accept": "application/json"}, environ_overrides=said)
            assert answer.json["answer"] == "accepted", address


def test_a_network_that_was_allowed_sees_the_pages(data: Path, furnace: Scripted, time: Clock) -> None:
    allowed = (ip_network("100.64.0.0/10"),)
    app = create_app(WebConfig(data, 8080, time.monotonic_s, time.utc_ms, (), allowed=allowed))
    client = Browser(app)
    assert client.get("/first", environ_overrides={"REMOTE_ADDR": "100.70.1.2"}).status_code == 200
    assert client.get("/first", environ_overrides={"REMOTE_ADDR": "8.8.8.8"}).status_code == 403
    parts(app).feed.close()
    parts(app).audit.close()


def test_a_write_from_another_origin_is_refused_on_every_route(app: Flask, phone: Browser, time: Clock) -> None:
    for rule in app.url_map.iter_rules():
        if "POST" not in (rule.methods or set()) or rule.endpoint in {"now.stop", "now.lower"}:
            continue
        for origin in (ORIGIN.replace("8080", "8081"), "http://elsewhere.example", "null", ""):
            time.ahead_s += 10
            answer = phone.post(address(rule), headers={"Origin": origin})
            assert answer.status_code == 403, (rule, origin)


@pytest.mark.parametrize(
    "host", ["elsewhere.example:8080", "localhost", "localhost:8081", "localhost.example:8080", ""]
)
def test_another_host_name_shows_nothing(phone: Browser, host: str) -> None:
    for path in ("/", "/melts", "/live.json", "/strip/1.json"):
        answer = phone.get(path, headers={"Host": host})
        assert answer.status_code == 400
        assert "Furnace A" not in answer.text


@pytest.mark.parametrize("host", ["localhost:8080", "192.168.1.20:8080", "[fd00::2]:8080"])
def test_our_names_and_plain_addresses_show_the_page(phone: Browser, host: str) -> None:
    assert phone.get("/first", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Host": "elsewhere.example"},
        {"Host": "a b/c:notaport"},
        {"Origin": "http://elsewhere.example"},
        {"Cookie": "meltkeeper-8080=stolen"},
        {"Content-Type": "application/json"},
        {"Date": "Thu, 01 Jan 1970 00:00:00 GMT"},
    ],
)
def test_stop_is_taken_whatever_comes_with_it(stranger: Browser, furnace: Scripted, headers: dict[str, str]) -> None:
    for _ in range(3):
        answer = stranger.post(
            "/stop", data=b"x=1&command=start&v=9", headers={"Accept": "application/json", **headers}
        )
        assert answer.status_code == 200
        assert answer.json["answer"] == "accepted"
    assert [type(asked) for asked in furnace.asked] == [Stop] * 3


def test_lowering_is_taken_from_anybody_even_without_a_number(stranger: Browser, furnace: Scripted) -> None:
    for typed in ("5", "5,5", "", "-7", "nan", "many"):
        answer = stranger.post(
            "/lower", data={"by_k": typed}, headers={"Accept": "application/json", "Host": "x.example"}
        )
        assert answer.json["answer"] == "accepted"
    lowered = [asked.by_k for asked in furnace.asked if isinstance(asked, Lower)]
    assert lowered == [5.0, 5.5, 20.0, 7.0, 20.0, 20.0]


def test_a_flood_is_slowed_and_stop_passes_through_it(stranger: Browser, furnace: Scripted, time: Clock) -> None:
    time.stop()
    answers = [stranger.get("/first").status_code for _ in range(90)]
    assert answers[0] == 200
    assert answers[-1] == 429
    for _ in range(30):
        assert stranger.post("/stop", headers={"Accept": "application/json"}).json["answer"] == "accepted"
    assert len(furnace.asked) == 30


def test_scripts_and_styles_come_through_a_flood(stranger: Browser, furnace: Scripted) -> None:
    """A page without its script could not say that it is old."""
    assert {stranger.get("/static/live.js").status_code for _ in range(200)} == {200}
    assert stranger.get("/first").status_code == 200
    assert stranger.get("/static/live.js", headers={"Host": "x.example"}).status_code == 400


def test_writes_are_slowed_to_two_a_second(phone: Browser, time: Clock, furnace: Scripted) -> None:
    time.ahead_s += 60
    furnace.show(HEATING)
    time.stop()
    answers = [phone.post("/hold", headers={"Accept": "application/json"}).status_code for _ in range(20)]
    assert answers.count(200) < 10
    time.ahead_s += 1
    assert phone.post("/hold", headers={"Accept": "application/json"}).status_code == 200


def test_a_tap_that_was_long_on_its_way_is_not_done_and_a_stop_is(
    phone: Browser, furnace: Scripted, time: Clock
) -> None:
    furnace.show(HEATING)
    sent_s = phone.get("/clock.json").json["sent_s"]
    asked = {"Accept": "application/json", "Asked-S": f"{sent_s:.3f}"}
    assert phone.post("/hold", headers=asked).json["answer"] == "accepted"
    time.ahead_s += 30
    late = phone.post("/hold", headers=asked)
    assert late.status_code == 409
    assert late.json["sentence"].startswith("This came 30 s after it was asked: nothing was done.")
    assert phone.post("/stop", headers=asked).json["answer"] == "accepted"
    assert phone.post("/lower", headers=asked).json["answer"] == "accepted"
    for typed in ("", "nan", "-inf", "inf", "x", "1e400", str(sent_s + 1e6)):
        time.ahead_s += 10
        assert phone.post("/hold", headers={**asked, "Asked-S": typed}).status_code in {200, 409}, typed
    assert len(furnace.asked) >= 3


def test_a_book_that_cannot_be_read_keeps_nobody_from_a_stop(app: Flask, phone: Browser, furnace: Scripted) -> None:
    parts(app).book.path.write_bytes(b"not a database" * 100)
    assert phone.post("/stop", headers={"Accept": "application/json"}).json["answer"] == "accepted"
    assert furnace.asked
    assert phone.post("/hold").status_code == 403


def test_every_answer_carries_the_headers(phone: Browser) -> None:
    for path in ("/", "/melts", "/nothing", "/static/look.css", "/live.json"):
        headers = phone.get(path).headers
        assert headers["Content-Security-Policy"].startswith("default-src 'none'; object-src 'none'; script-src 'self'")
        assert "unsafe" not in headers["Content-Security-Policy"]
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "same-origin"
    assert phone.get("/").headers["Cache-Control"] == "no-store"


def test_pages_hold_no_script_or_style_of_their_own(phone: Browser) -> None:
    for path in ("/", "/melts", "/first", "/pair", "/settings", "/settings/record"):
        html = phone.get(path).text
        assert "<style" not in html
        assert " style=" not in html
        assert "<script>" not in html
        assert " onclick" not in html


def test_a_book_that_cannot_be_read_keeps_nobody_from_a_page_that_stops(
    furnace: Scripted, data: Path, time: Clock
) -> None:
    (data / "book.db").write_bytes(b"no database" * 1000)
    app = create_app(WebConfig(data, 8080, time.monotonic_s, time.utc_ms))
    browser = Browser(app)
    for path in ("/", "/pour", "/pair", "/melts", "/settings"):
        assert browser.get(path).status_code < 500, path
    parts(app).feed.close()
    parts(app).audit.close()
