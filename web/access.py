"""The checks before every request: default deny, and what a route declares of itself (`roles.py`) opens it.

Stopping and lowering pass before any check is made: no cookie, role, host name, origin, address or rate keeps them out.
Source of the rest: OWASP ASVS 5.0 (working text), chapters 3, 7, 8.
"""

import ipaddress
import sqlite3
from typing import cast

from flask import Flask, Request, Response, current_app, g, render_template, request
from werkzeug.exceptions import HTTPException

from web.audit import Audit
from web.book import Book, Happened, Phone
from web.config import WebConfig
from web.packed import pack, takes_gzip
from web.pairing import digest
from web.parts import parts
from web.rates import Rates
from web.replies import as_json
from web.roles import Needs, Role, may, needs_of

COOKIE_DAYS = 90
SEEN_EVERY_MS = 3_600_000
NOT_LONG_MS = 100
"""So long at most a stop waits for the book, which only tells it who asks."""

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; object-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; manifest-src 'self'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
}
ONCE_SECURE = {"Strict-Transport-Security": "max-age=31536000"}
FAILED = {
    400: "That could not be read, so nothing was done.",
    404: "There is no such page here.",
    405: "That address does not take this kind of request, so nothing was done.",
    413: "That is longer than anything these pages take, so nothing was done.",
    500: "These pages failed at it. What became of it is not known: look at the furnace. Stop works all the same.",
}
EXPIRES_S = 5.0
"""A tap that was on its way for longer is not done: the page has said by then that nobody knows what became of it."""
READS = frozenset({"GET", "HEAD", "OPTIONS"})


def cookie_name(config: WebConfig) -> str:
    """Two furnaces on one machine share cookies between their ports: each has a name of its own."""
    return f"{'__Host-' if request.is_secure else ''}meltkeeper-{config.port}"


def guard(app: Flask, config: WebConfig, book: Book, audit: Audit) -> None:
    """Put the checks before every request, the headers and the record behind it."""
    rates = Rates(config.monotonic_s)

    @app.before_request
    def check() -> Response | None:
        needs = needs_of(app.view_functions, request.endpoint or "")
        g.phone = _phone(book, config, request, NOT_LONG_MS if needs is Needs.NOTHING else None)
        if needs is Needs.NOTHING:
            return None
        if not _is_near(request.remote_addr or "", config):
            return refuse(
                403, "These pages are for the furnace’s own network. From elsewhere only a stop comes through."
            )
        if not _host_is_ours(request, config):
            return refuse(400, "This address is not one of this furnace’s. Use the one printed at its console.")
        if request.endpoint == "static":  # without its script a page could not say that it is old
            return None
        if not _in_rate(rates, request):
            return refuse(429, "Too many requests from this phone. Wait a moment. Stop works all the same.")
        if request.method not in READS and not _origin_is_ours(request):
            return refuse(403, "This came from another page than this furnace’s own, so nothing was done.")
        if request.endpoint is not None and not may(needs, role()):
            return refuse(403, _why_not(needs))
        late_s = _late_s(request, config)
        if late_s > EXPIRES_S:
            return refuse(409, f"This came {late_s:.0f} s after it was asked: nothing was done. Look, then ask again.")
        return None

    @app.errorhandler(HTTPException)
    def failed(problem: HTTPException) -> Response:
        status = problem.code or 500
        return refuse(status, FAILED.get(status, FAILED[500] if status >= 500 else FAILED[400]))

    @app.after_request
    def headers(response: Response) -> Response:
        response.headers.extend(HEADERS)
        if request.is_secure:
            response.headers.extend(ONCE_SECURE)
        if request.endpoint != "static":
            response.headers["Cache-Control"] = "no-store"
            response.headers["Vary"] = "Accept-Encoding"
            if takes_gzip(request):
                pack(response)
        refused = response.status_code >= 400
        if not g.get("noted") and (refused or request.method not in READS):
            said = g.get("answer") or ("refused" if refused else "done")
            counted = refused or needs_of(app.view_functions, request.endpoint or "") is Needs.NOTHING
            audit.asked((who(), role(), request.remote_addr or "?"), _what(request), said, counted=counted)
        return response


def refuse(status: int, sentence: str) -> Response:
    """Say no, in the form that was asked for."""
    if wants_json():
        return as_json({"answer": "refused", "sentence": sentence}, status)
    return current_app.response_class(render_template("refused.html", sentence=sentence, pair=role() is None), status)


def wants_json() -> bool:
    """The page's own script asks, and shows the answer itself."""
    return request.accept_mimetypes.best == "application/json"


def phone() -> Phone | None:
    """The paired phone that asks now; None: somebody who only looks."""
    return cast("Phone | None", g.get("phone"))


def role() -> Role | None:
    """What the phone that asks now is paired for; None: nobody paired it."""
    paired = phone()
    return paired.role if paired else None


def runs_it() -> bool:
    """The phone that asks now is paired to run the furnace."""
    return role() == "run"


def may_open(endpoint: str) -> bool:
    """Whether the phone that asks now may use that route."""
    return may(needs_of(current_app.view_functions, endpoint), role())


def who() -> str:
    """Whom the record names for what is asked now."""
    paired = phone()
    return paired.name if paired else "an unpaired phone"


def record(kind: str, name: str, what: str) -> None:
    """Write into the record of access at once, in place of what the guard would write of this request."""
    config = parts().config
    parts().book.remember([Happened(kind, name, role() or "", request.remote_addr or "?", what, config.utc_ms())])
    g.noted = True


def _why_not(needs: Needs | None) -> str:
    if needs is None:
        return "Nobody may use this address: it does not say who may."
    if role() is None:
        return "An unpaired phone sees the furnace, stops and lowers. Pair it first."
    return "This phone is paired to look. It stops and lowers; for more, pair it to run."


def _what(asked: Request) -> str:
    """The address that was asked for, as the record keeps it: no text of the sender's beyond what a route takes."""
    return f"{asked.method} {asked.path}"[:100] if asked.endpoint else "no such page"


def _phone(book: Book, config: WebConfig, asked: Request, patience_ms: int | None) -> Phone | None:
    token = asked.cookies.get(cookie_name(config))
    if not token:
        return None
    try:
        found = book.phone_with(digest(token), patience_ms)
        now_ms = config.utc_ms()
        if patience_ms is None and found and abs(now_ms - (found.seen_utc_ms or 0)) > SEEN_EVERY_MS:
            book.seen(found.id, now_ms)
    except (sqlite3.Error, UnicodeError):  # a book that cannot be read pairs nobody, and keeps nobody from a stop
        return None
    if found and now_ms - found.paired_utc_ms > COOKIE_DAYS * 86_400_000:
        return None
    return found


def _is_near(address: str, config: WebConfig) -> bool:
    """From this machine, a private or link-local network (RFC 1918, 3927, 4193, 4291), or one that was allowed."""
    try:
        ip = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return False
    ip = getattr(ip, "ipv4_mapped", None) or ip
    return ip.is_private or ip.is_loopback or ip.is_link_local or any(ip in network for network in config.allowed)


def _host_is_ours(asked: Request, config: WebConfig) -> bool:
    """Our names, or a plain address: one that a foreign name was pointed at would come with that name."""
    host = asked.headers.get("Host", "")
    if asked.is_secure:
        return host.lower() == config.https_name
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


def _late_s(asked: Request, config: WebConfig) -> float:
    """How long a tap was on its way, by this machine's clock as the page reckons it; 0 where it does not say."""
    try:
        late_s = config.monotonic_s() - float(asked.headers.get("Asked-S", "nan"))
    except ValueError:
        return 0.0
    return late_s if late_s > 0.0 else 0.0


def _in_rate(rates: Rates, asked: Request) -> bool:
    address = asked.remote_addr or "?"
    allowed = rates.allow("all", address, per_s=20, burst=60)
    if asked.endpoint == "pair.enter":
        return rates.allow("pairing", address, per_s=5 / 60, burst=5) and allowed
    if asked.method not in READS:
        return rates.allow("write", address, per_s=2, burst=6) and allowed
    return allowed
