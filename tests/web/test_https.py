"""Behind a proxy that speaks HTTPS: what changes then, and that nobody can pretend it without one."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask

from tests.web.conftest import Browser, Clock, parts
from tests.web.looking import JSON
from tests.web.scripted import Scripted
from web import pairing
from web.app import create_app
from web.config import WebConfig

NAME = "furnace.local"
BASE = f"https://{NAME}"


@pytest.fixture
def secured(data: Path, furnace: Scripted, time: Clock) -> Iterator[Flask]:
    app = create_app(WebConfig(data, 8080, time.monotonic_s, time.utc_ms, (), https_name=NAME))
    yield app
    parts(app).feed.close()
    parts(app).audit.close()


def pair(app: Flask, time: Clock) -> tuple[Browser, str]:
    client = Browser(app)
    code = pairing.new_code(parts(app).book, time.utc_ms())
    answer = client.post("/pair", data={"code": code, "name": "Ada"}, base_url=BASE, headers={"Origin": BASE})
    assert answer.status_code == 303
    return client, answer.headers["Set-Cookie"]


def test_the_cookie_is_bound_to_the_encrypted_address(secured: Flask, time: Clock) -> None:
    """Source: RFC 6265bis, section 4.1.3.2: `__Host-` asks for Secure, Path=/ and no Domain."""
    client, cookie = pair(secured, time)
    assert cookie.startswith("__Host-meltkeeper-8080=")
    for word in ("Secure", "HttpOnly", "Path=/", "SameSite=Strict"):
        assert word in cookie
    assert "Domain" not in cookie
    page = client.get("/settings", base_url=BASE)
    assert "This page travels encrypted" in page.text
    assert page.headers["Strict-Transport-Security"] == "max-age=31536000"


def test_a_phone_paired_by_https_is_a_stranger_on_plain_http(secured: Flask, time: Clock) -> None:
    client, _ = pair(secured, time)
    answer = client.get("/settings")
    assert answer.status_code == 403
    assert "Strict-Transport-Security" not in answer.headers


@pytest.mark.parametrize("host", ["elsewhere.example", "furnace.local:8443", "192.168.1.20", "localhost:8080"])
def test_another_name_shows_nothing_and_a_stop_passes(secured: Flask, time: Clock, host: str) -> None:
    client, _ = pair(secured, time)
    assert client.get("/first", base_url=BASE, headers={"Host": host}).status_code == 400
    assert client.post("/stop", base_url=BASE, headers={"Host": host, **JSON}).json["answer"] == "accepted"


def test_a_write_from_the_plain_address_is_refused_on_the_encrypted_one(secured: Flask, time: Clock) -> None:
    client, _ = pair(secured, time)
    for origin in (f"http://{NAME}", f"http://{NAME}:8080", f"{BASE}:8443", "null"):
        time.ahead_s += 10
        assert client.post("/hold", base_url=BASE, headers={"Origin": origin}).status_code == 403, origin
