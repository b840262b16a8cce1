"""Who may do what: one table of exemptions, everything else is denied unless the phone is paired.

Anybody who reaches the pages may look, stop and lower. Stopping and lowering pass before any other check is made: no
cookie, host name, origin or rate keeps them out. Source of the rest: OWASP ASVS 5.0 (working text), chapters 3, 7, 8.
"""

import ipaddress
import sqlite3
from collections.abc import Callable
from typing import cast

from flask import Flask, Request, Response, current_app, g, render_template, request

from web.book import Book, Phone
from web.config import WebConfig
from web.pairing import digest

ALWAYS = frozenset({"now.stop", "now.lower"})
"""Taken from whoever asks, however they ask."""

LOOKING = frozenset(
    {
        "static",
        "now.show",
        "live.stream",
        "live.poll",
        "strip.data",
        "melts.show",
        "melt.show",
        "melt.table",
        "model.show",
        "equipment.show",
        "first.show",
        "pair.show",
    }
)
"""Shown to whoever reaches the page."""

ENTRY = frozenset({"pair.enter", "first.read"})
"""Writes that come before pairing; origin, host and rate are checked all the same."""

COOKIE_DAYS = 90
SEEN_EVERY_MS = 3_600_000

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; object-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; manifest-src 'self'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
}


class Rates:
    """How often each address may ask: buckets that fill with time."""

    def __init__(self, monotonic_s: Callable[[], float]):
        self._monotonic_s = monotonic_s
        self._buckets: dict[tuple[str, str], tuple[float, float]] = {}

    def allow(self, kind: str, address: str, *, per_s: float, burst: float) -> bool:
        """Take one from the bucket of this kind and address. False: it is empty."""
        now_s = self._monotonic_s()
        if len(self._buckets) > 10_000:  # a flood from many addresses must not fill the memory
            self._buckets.clear()
        left, since_s = self._buckets.get((kind, address), (burst, now_s))
        left = min(burst, left + (now_s - since_s) * per_s)
        self._buckets[kind, address] = (max(0.0, left - 1), now_s)
        return left >= 1


def cookie_name(config: WebConfig) -> str:
    """Two furnaces on one machine share cookies between their ports: each has a name of its own."""
    return f"meltkeeper-{config.port}"


def guard(app: Flask, config: WebConfig, book: Book) -> None:
    """Put the checks before every request and the headers behind it."""
    rates = Rates(config.monotonic_s)

    @app.before_request
    def check() -> tuple[str, int] | None:
        g.phone = _phone(book, config, request)
        if request.endpoint in ALWAYS:
            return None
        if not _host_is_ours(request.headers.get("Host", ""), config):
            return refuse(400, "This address is not one of this furnace’s. Use the one printed at its console.")
        if request.endpoint == "static":  # without its script a page could not say that it is old
            return None
        if not _in_rate(rates, request):
            return refuse(429, "Too many requests from this phone. Wait a moment. Stop works all the same.")
        if request.method not in {"GET", "HEAD", "OPTIONS"} and not _origin_is_ours(request):
            return refuse(403, "This came from another page than this furnace’s own, so nothing was done.")
        if request.endpoint is None or request.endpoint in LOOKING | ENTRY or g.phone is not None:
            return None
        return refuse(403, "This phone only looks, stops and lowers. Pair it first.")

    @app.after_request
    def headers(response: Response) -> Response:
        response.headers.extend(HEADERS)
        if request.endpoint != "static":
            response.headers["Cache-Control"] = "no-store"
        return response


def refuse(status: int, sentence: str) -> tuple[str, int]:
    """Say no, in the form that was asked for."""
    if wants_json():
        return current_app.json.dumps({"answer": "refused", "sentence": sentence}), status
    return render_template("refused.html", sentence=sentence), status


def wants_json() -> bool:
    """The page's own script asks, and shows the answer itself."""
    return request.accept_mimetypes.best == "application/json"


def phone() -> Phone | None:
    """The paired phone that asks now; None: somebody who only looks."""
    return cast("Phone | None", g.get("phone"))


def who() -> str:
    """Whom the record names for what is asked now."""
    paired = phone()
    return paired.name if paired else "an unpaired phone"


def _phone(book: Book, config: WebConfig, asked: Request) -> Phone | None:
    token = asked.cookies.get(cookie_name(config))
    if not token:
        return None
    try:
        found = book.phone_with(digest(token))
        now_ms = config.utc_ms()
        if found and abs(now_ms - (found.seen_utc_ms or 0)) > SEEN_EVERY_MS:
            book.seen(found.id, now_ms)
    except sqlite3.Error:  # a book that cannot be read pairs nobody, and keeps nobody from a stop
        return None
    if found and now_ms - found.paired_utc_ms > COOKIE_DAYS * 86_400_000:
        return None
    return found


def _host_is_ours(host: str, config: WebConfig) -> bool:
    """Our names, or a plain address: one that a foreign name was pointed at would come with that name."""
    name, _, port = host.rpartition(":") if not host.endswith("]") and ":" in host else (host, "", "80")
    if port != str(config.port):
        return False
    if name.lower() in config.names:
        return True
    try:
        ipaddress.ip_address(name.strip("[]"))
    except ValueError:
        return False
    return True


def _origin_is_ours(asked: Request) -> bool:
    return asked.headers.get("Origin") == f"{asked.scheme}://{asked.headers.get('Host')}"


def _in_rate(rates: Rates, asked: Request) -> bool:
    address = asked.remote_addr or "?"
    allowed = rates.allow("all", address, per_s=20, burst=60)
    if asked.endpoint == "pair.enter":
        return rates.allow("pairing", address, per_s=5 / 60, burst=5) and allowed
    if asked.method not in {"GET", "HEAD", "OPTIONS"}:
        return rates.allow("write", address, per_s=2, burst=6) and allowed
    return allowed
