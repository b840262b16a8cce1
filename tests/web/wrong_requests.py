"""Requests that nobody should send: malformed, replayed, stale, from another site, from a phone that may not.

They are made over the whole route map, so that a page that is added is asked too; the names of the fields are read from
the templates. A start, a go on and a raise are made as right as they can be but for the one thing that is wrong.
"""

import re
from enum import Enum
from pathlib import Path
from typing import NamedTuple
from urllib.parse import quote

from flask import Flask
from hypothesis import strategies as st
from werkzeug.routing import Rule

TEMPLATES = Path(__file__).resolve().parents[2] / "web" / "templates"
FIELDS = sorted({name for page in TEMPLATES.rglob("*.html") for name in re.findall(r'name="(\w+)"', page.read_text())})
METHODS = ("GET", "POST", "PUT", "DELETE", "PATCH", "HEAD", "OPTIONS", "TRACE")
HEATS = ("start", "resume", "raise", "note")
"""Commands that can add heat, in the order in which a thief would try them."""


class Wrong(Enum):
    """What is wrong with a request."""

    MALFORMED = "a phone that runs sends nonsense"
    STALE = "a phone that runs names an epoch that is past or not yet"
    REPLAYED = "the same, sent twice"
    CROSS_SITE = "the browser of a phone that runs is sent by another page"
    LOOKS = "a phone that is paired to look"
    NOBODY = "a phone that is not paired"
    REVOKED = "a phone that was revoked"


class Request(NamedTuple):
    """One request. `epoch` is how far beside the true one; `right`: its form is that of a true command."""

    wrong: Wrong
    method: str
    path: str
    form: tuple[tuple[str, str], ...]
    raw: bytes | None  # in place of the form
    kind: str | None  # its content type, where it is not a form's own
    headers: tuple[tuple[str, str], ...]
    right: str | None  # the command whose true form it carries
    epoch: int
    address: str


NONSENSE = (
    "", " ", "nan", "inf", "-inf", "1e999", "-1", "0", "1", "2", "20", "740", "9" * 400, "٣", "²", "1,5", "1.5.5",
    "0x10", "true", "yes", "null", "\x00", "a\x00b", "\r\nSet-Cookie: a=b", "<script>alert(1)</script>", "' or 1=1 --",
    "../../etc/passwd", "%00", "%ff", "\u202e", "ẞ" * 300, "x" * 20_000, "{{7*7}}", "example/ingots-2kg", "C", "F",
    "sun", "go on", "addition", "run", "look", str(2**63), str(-(2**63)),
)  # fmt: skip
VALUES = st.one_of(st.sampled_from(NONSENSE), st.text(max_size=30), st.integers().map(str), st.floats().map(str))
THERE = ("L-1", "M-1", "P-001", "A-001", "A-001-1", "1")
"""Names of things that may be in the book: a page that finds nothing does little."""
SITES = ("http://elsewhere.example", "http://localhost:8081", "https://localhost:8080", "null", "", "http://localhost")
BODIES = st.one_of(
    st.binary(max_size=200),
    st.sampled_from(
        (b"%", b"a=%ed%a0%80", b"epoch=%ff", b"=&=&&", b'{"epoch":1}', b"--x\r\n", b"\x1f\x8b\x08junk", b"[" * 999)
    ),
)
KINDS = (
    "application/json", "text/plain", "multipart/form-data; boundary=x", "multipart/form-data", "application/xml",
    "application/x-www-form-urlencoded; charset=utf-16", "a/b; c", "",
)  # fmt: skip
HEADERS = st.lists(
    st.tuples(
        st.sampled_from(("Accept", "Cookie", "Referer", "X-Forwarded-For", "X-Forwarded-Proto", "Last-Event-ID",
                         "Range", "If-None-Match", "Accept-Encoding", "Authorization",
                         "X-HTTP-Method-Override", "Expect")),
        st.sampled_from(("application/json", "*/*;q=nan", "meltkeeper-8080=stolen", "127.0.0.1", "https", "bytes=9-1",
                         '"x"', "gzip;q=x, br", "Bearer x", "POST", "a-1", "x" * 4000)),
    ),
    max_size=3,
)  # fmt: skip


def asked_rules(app: Flask) -> list[Rule]:
    """Every route but the stream, which does not end."""
    return [rule for rule in app.url_map.iter_rules() if rule.endpoint != "live.stream"]


@st.composite
def to(draw: st.DrawFn, rule: Rule) -> Request:
    """A wrong request to that route, or to none."""
    own = sorted((rule.methods or {"GET"}) - {"OPTIONS"})
    method = draw(st.sampled_from((*own, *own, *own, *METHODS)))
    names = draw(st.lists(st.sampled_from((*FIELDS, "before", "after", "page", "x")), max_size=6))
    form = tuple((name, draw(VALUES)) for name in names)
    raw = draw(st.one_of(st.none(), st.none(), BODIES))
    return Request(
        draw(st.sampled_from(Wrong)),
        method,
        _path(draw, rule)
        + (f"?{draw(st.sampled_from(names))}={quote(draw(VALUES))}" if names and method == "GET" else ""),
        form,
        raw,
        draw(st.sampled_from(KINDS)) if raw is not None else None,
        tuple(draw(HEADERS)),
        None,
        draw(_beside()),
        draw(_address()),
    )


@st.composite
def to_heat(draw: st.DrawFn) -> Request:
    """A true command but for what is wrong with it; now and then with one more field, or one fewer."""
    wrong = draw(st.sampled_from([each for each in Wrong if each is not Wrong.MALFORMED]))
    right = draw(st.sampled_from(HEATS))
    more = tuple(draw(st.lists(st.tuples(st.sampled_from(FIELDS), VALUES), max_size=1)))
    headers = tuple(draw(HEADERS))
    return Request(wrong, "POST", f"/{right}", more, None, None, headers, right, draw(_beside()), draw(_address()))


def _path(draw: st.DrawFn, rule: Rule) -> str:
    def some(found: re.Match[str]) -> str:
        among = re.match(r"any\((.*)\)", found[1] or "")
        if among and draw(st.integers(0, 4)):
            return str(draw(st.sampled_from(re.findall(r"\w+", among[1]))))
        if draw(st.booleans()):
            return str(draw(st.sampled_from(THERE)))
        return quote(draw(VALUES), safe="/" if (found[1] or "") == "path" else "")

    return re.sub(r"<(?:([^:<>]+(?:\([^)]*\))?):)?(\w+)>", some, rule.rule)


def _beside() -> st.SearchStrategy[int]:
    return st.one_of(st.sampled_from((-1, 1, -2, 2)), st.integers(-10_000, -1), st.integers(1, 10_000))


def _address() -> st.SearchStrategy[str]:
    """Many phones: no limit of rate is to stand in for the check that is looked for."""
    return st.tuples(st.integers(0, 255), st.integers(1, 254)).map(lambda at: f"192.168.{at[0]}.{at[1]}")
