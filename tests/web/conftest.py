"""The pages as Flask serves them, on a scripted supervisor behind a real socket."""

import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from hardware import clock
from tests.web.scripted import Scripted
from web import pairing
from web.app import create_app
from web.book import Book
from web.config import WebConfig
from web.parts import Parts
from web.roles import Role

EXAMPLES = tuple(sorted(Path("docs/examples").glob("*.toml")))
HOST = "localhost:8080"
ORIGIN = f"http://{HOST}"


class Clock:
    """Real time, which a test may set forward, or stop for what counts requests a second."""

    ahead_s = 0.0
    stopped_s: float | None = None

    def stop(self) -> None:
        self.stopped_s = clock.monotonic_s()

    def monotonic_s(self) -> float:
        return (clock.monotonic_s() if self.stopped_s is None else self.stopped_s) + self.ahead_s

    def utc_ms(self) -> int:
        return clock.utc_ms() + round(self.ahead_s * 1000)


class Browser(FlaskClient):
    """Asks as a browser on the furnace's own page does."""

    clock: Clock | None = None
    takes_s = 0.0  # what a person needs for one form: requests are counted by the second

    def open(self, *args: Any, **kwargs: Any) -> Any:
        kwargs.setdefault("base_url", ORIGIN)
        kwargs.setdefault("buffered", True)
        kwargs["headers"] = {"Origin": ORIGIN, **kwargs.get("headers", {})}
        return super().open(*args, **kwargs)

    def get(self, *args: Any, **kwargs: Any) -> Any:
        return super().get(*args, **kwargs)

    def post(self, *args: Any, **kwargs: Any) -> Any:
        if self.clock is not None:
            self.clock.ahead_s += self.takes_s
        return super().post(*args, **kwargs)


@pytest.fixture
def data() -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as place:  # short: a socket's path has 107 bytes
        yield Path(place)


@pytest.fixture
def furnace(data: Path) -> Iterator[Scripted]:
    scripted = Scripted(data)
    yield scripted
    scripted.close()


@pytest.fixture
def time() -> Clock:
    return Clock()


@pytest.fixture
def app(data: Path, furnace: Scripted, time: Clock) -> Iterator[Flask]:
    app = create_app(WebConfig(data, 8080, time.monotonic_s, time.utc_ms, EXAMPLES))
    feed = parts(app).feed

    def heard_s() -> float | None:
        moment = feed.latest()
        return float(moment.snapshot["monotonic_s"]) if moment else None

    furnace.heard = heard_s
    yield app
    furnace.heard = None
    feed.close()
    parts(app).audit.close()


def parts(app: Flask) -> Parts:
    joined = app.extensions["meltkeeper"]
    assert isinstance(joined, Parts)
    return joined


@pytest.fixture
def stranger(app: Flask) -> Browser:
    """A phone that nobody paired."""
    return Browser(app)


@pytest.fixture
def phone(app: Flask, time: Clock) -> Browser:
    """A phone that is paired to run, and whose owner has read the cautions."""
    client = Browser(app)
    client.clock = time
    pair(client, parts(app).book, parts(app).config.utc_ms())
    assert client.post("/first").status_code == 303
    return client


@pytest.fixture
def looker(app: Flask, time: Clock) -> Browser:
    """A phone that is paired to look."""
    client = Browser(app)
    client.clock = time
    pair(client, parts(app).book, parts(app).config.utc_ms(), "Bo’s phone", "look")
    assert client.post("/first").status_code == 303
    return client


def pair(client: Browser, book: Book, utc_ms: int, name: str = "Ada’s phone", role: Role = "run") -> None:
    code = pairing.new_code(book, utc_ms, role)
    assert client.post("/pair", data={"code": code, "name": name}).status_code == 303
