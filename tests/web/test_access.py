"""Who may do what: stop and lowering from anybody, looking from our own addresses, all else from a paired phone."""

import pytest
from flask import Flask
from werkzeug.routing import Rule

from supervisor.firing.commands import Lower, Stop
from tests.web.conftest import ORIGIN, Browser, Clock, parts
from tests.web.scripted import Scripted
from tests.web.snapshots import HEATING
from web.access import ALWAYS, ENTRY, LOOKING


def address(rule: Rule) -> str:
    return rule.rule.replace("<int:firing_id>", "1").replace("<path:filename>", "look.css").split("<any")[0] + (
        "hold" if "<any" in rule.rule else ""
    )


def test_what_is_open_to_everybody_is_this_short_list() -> None:
    assert {"now.stop", "now.lower"} == ALWAYS
    assert {"pair.enter", "first.read"} == ENTRY
    assert not {
        name for name in LOOKING if name.split(".")[-1] not in {"static", "show", "data", "table", "stream", "poll"}
    }


def test_an_unpaired_phone_gets_nothing_but_looking_stopping_and_lowering(
    app: Flask, stranger: Browser, time: Clock
) -> None:
    seen = set()
    for rule in app.url_map.iter_rules():
        time.ahead_s += 10
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}:
            seen.add((rule.endpoint, method))
            if rule.endpoint in LOOKING | ENTRY | ALWAYS:
                assert not (rule.endpoint in LOOKING and method != "GET")
                continue
            answer = stranger.open(address(rule), method=method)
            assert answer.status_code == 403, rule
            assert "Pair it first" in answer.text
    assert ("now.command", "POST") in seen
    assert ("settings.revoke", "POST") in seen


def test_a_write_from_another_origin_is_refused_on_every_route(app: Flask, phone: Browser, time: Clock) -> None:
    for rule in app.url_map.iter_rules():
        if "POST" not in (rule.methods or set()) or rule.endpoint in ALWAYS:
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
    assert phone.get("/melts", headers={"Host": host}).status_code == 200


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


def test_a_flood_is_slowed_and_stop_passes_through_it(stranger: Browser, furnace: Scripted) -> None:
    answers = [stranger.get("/melts").status_code for _ in range(90)]
    assert answers[0] == 200
    assert answers[-1] == 429
    for _ in range(30):
        assert stranger.post("/stop", headers={"Accept": "application/json"}).json["answer"] == "accepted"
    assert len(furnace.asked) == 30


def test_scripts_and_styles_come_through_a_flood(stranger: Browser, furnace: Scripted) -> None:
    """A page without its script could not say that it is old."""
    assert {stranger.get("/static/live.js").status_code for _ in range(200)} == {200}
    assert stranger.get("/melts").status_code == 200
    assert stranger.get("/static/live.js", headers={"Host": "x.example"}).status_code == 400


def test_writes_are_slowed_to_two_a_second(phone: Browser, time: Clock, furnace: Scripted) -> None:
    time.ahead_s += 60
    furnace.show(HEATING)
    answers = [phone.post("/hold", headers={"Accept": "application/json"}).status_code for _ in range(20)]
    assert answers.count(200) < 10
    time.ahead_s += 1
    assert phone.post("/hold", headers={"Accept": "application/json"}).status_code == 200


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
    for path in ("/", "/melts", "/first", "/pair", "/settings"):
        html = phone.get(path).text
        assert "<style" not in html
        assert " style=" not in html
        assert "<script>" not in html
        assert " onclick" not in html
