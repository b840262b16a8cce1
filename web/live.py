"""What keeps a page alive: a stream of the parts that changed, and the same by asking when no stream is left.

An event carries its age on this machine's clock, so that a phone whose own clock is wrong shows the right one. A phone
that comes back with the id of its last event is told first what happened meanwhile; old numbers are never sent again.
"""

from collections.abc import Iterator
from typing import Any

from flask import Blueprint, Response, request

from web.access import phone, runs_it
from web.drawing import REGIONS
from web.feed import Feed, Happening
from web.packed import packed_stream, takes_gzip
from web.parts import Parts, parts
from web.replies import as_json
from web.roles import anybody
from web.telling import Word, event
from web.view import Reader
from web.words import second

live = Blueprint("live", __name__)

RETRY_MS = 2000
SILENT_S = 1.5
"""The supervisor speaks once a second; after so long without a word its silence is told."""
COMMENT_EVERY_S = 15.0
LONGEST_NUMBER = 15


def reader() -> Reader:
    """Who looks now, and in which unit."""
    paired = phone()
    return Reader(paired.units if paired else "C", runs_it())


def away(feed: Feed, after: str) -> dict[str, Any] | None:
    """What a phone missed since the event of that id; None for one that is new here."""
    name, _, number = after.rpartition("-")
    if not name:
        return None
    known = name == feed.name and number.isascii() and number.isdecimal() and len(number) <= LONGEST_NUMBER
    missed = feed.since(int(number)) if known else None
    if missed is None:
        sentence = "More happened than is kept here, or these pages were started anew. The log has it all."
        return {"happened": [["–", sentence]]}
    return {"happened": [_told(happening) for happening in missed]}


def _told(happening: Happening) -> list[str]:
    return [second(happening.utc_ms), happening.sentence]


@live.get("/live")
@anybody
def stream() -> Response:
    """The stream of one phone; the phone too many is told so and asks instead."""
    after = request.headers.get("Last-Event-ID") or request.args.get("after", "")
    events = _events(parts(), reader(), _page(), after)
    packed = takes_gzip(request)
    response = Response(packed_stream(events) if packed else events, mimetype="text/event-stream")
    if packed:
        response.headers["Content-Encoding"] = "gzip"
    response.headers["X-Accel-Buffering"] = "no"
    return response


def _events(mine: Parts, for_whom: Reader, page: str, after: str) -> Iterator[str]:
    feed, teller = mine.feed, mine.teller
    yield f"retry: {RETRY_MS}\n\n"
    with feed.stream() as placed:
        if not placed:
            yield event("full", {})
            return
        missed = away(feed, after)
        if missed is not None:
            yield event("away", missed)
        shown: Word | None = teller.known(after, for_whom, page)
        number, comment_s = 0, feed.monotonic_s()
        while not feed.ended:
            moment = feed.after(number, SILENT_S)
            if moment is not None:
                shown, number = teller.word(moment, for_whom, page, shown), moment.number
            yield shown.event if moment and shown else event("age", teller.silence())
            if feed.monotonic_s() - comment_s >= COMMENT_EVERY_S:
                comment_s = feed.monotonic_s()
                yield ": still here\n\n"


@live.get("/live.json")
@anybody
def poll() -> Response:
    """The same for one that asks: what was missed, and the newest moment."""
    mine = parts()
    moment = mine.feed.latest()
    after = request.args.get("after", "")
    shown = mine.teller.known(after, reader(), _page())
    word = mine.teller.word(moment, reader(), _page(), shown) if moment else None
    missed = away(mine.feed, after)
    return as_json({"away": missed, "live": word.news if word else None, **mine.teller.silence()})


@live.get("/clock.json")
@anybody
def clock() -> Response:
    """This machine's monotonic clock, by which a phone tells how long something was on its way."""
    return as_json({"sent_s": round(parts().feed.monotonic_s(), 3)})


def _page() -> str:
    page = request.args.get("page", "")
    return page if page in REGIONS else "other"
