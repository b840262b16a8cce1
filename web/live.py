"""What keeps a page alive: a stream of the parts that changed, and the same by asking when no stream is left.

An event carries its age on this machine's clock, so that a phone whose own clock is wrong shows the right one. A phone
that comes back with the id of its last event is told first what happened meanwhile; old numbers are never sent again.
"""

import json
from collections.abc import Iterator
from typing import Any

from flask import Blueprint, Response, request

from web.access import phone, runs_it
from web.drawing import Drawer
from web.feed import Feed, Happening
from web.packed import packed_stream, takes_gzip
from web.parts import parts
from web.replies import as_json
from web.roles import anybody
from web.view import Reader
from web.words import second

live = Blueprint("live", __name__)

RETRY_MS = 2000
TICK_S = 1.0
COMMENT_EVERY_S = 15.0


def reader() -> Reader:
    """Who looks now, and in which unit."""
    paired = phone()
    return Reader(paired.units if paired else "C", runs_it())


class Telling:
    """What one phone has been told: only what changed is sent again."""

    def __init__(self, feed: Feed, drawer: Drawer, for_whom: Reader, page: str):
        self.feed = feed
        self._drawer = drawer
        self._reader = for_whom
        self._page = page
        self._told: dict[str, str] = {}
        self.number = 0

    def news(self, wait_s: float) -> dict[str, Any] | None:
        """The parts that changed with the next moment, waiting for one as long as wait_s; None: there was none."""
        moment = self.feed.after(self.number, wait_s)
        if moment is None:
            return None
        self.number = moment.number
        view = self._drawer.view(self._reader, moment)
        drawn = self._drawer.regions(view, self._page)
        changed = {name: html for name, html in drawn.items() if self._told.get(name) != html}
        self._told = drawn
        return {
            "id": self.feed.id_of(moment),
            **self._when(view.age_s),
            "at": second(view.s["utc_ms"]),
            "tone": view.tone,
            "off": view.s["heat"]["off"],
            "alarms": bool(view.alarms),
            "sound": view.sound,
            "live": view.live,
            "point": view.point,
            "regions": changed,
        }

    def silence(self) -> dict[str, Any]:
        """How old the newest moment is, when no new one came."""
        moment = self.feed.latest()
        return self._when(self.feed.age_s(moment) if moment else None)

    def _when(self, age_s: float | None) -> dict[str, Any]:
        """An age, and this machine's monotonic clock now: what lies in a queue on the way grows older unseen."""
        return {"age_s": None if age_s is None else round(age_s, 3), "sent_s": round(self.feed.monotonic_s(), 3)}


def away(feed: Feed, after: str) -> dict[str, Any] | None:
    """What a phone missed since the event of that id; None for one that is new here."""
    name, _, number = after.rpartition("-")
    if not name:
        return None
    missed = feed.since(int(number)) if name == feed.name and number.isdecimal() else None
    if missed is None:
        sentence = "More happened than is kept here, or these pages were started anew. The log has it all."
        return {"happened": [["–", sentence]]}
    return {"happened": [_told(happening) for happening in missed]}


def _told(happening: Happening) -> list[str]:
    return [second(happening.utc_ms), happening.sentence]


def event(kind: str, data: dict[str, Any]) -> str:
    """One server-sent event. Source: WHATWG HTML, section 9.2, event stream format."""
    own_id = f"id: {data['id']}\n" if "id" in data else ""
    return f"{own_id}event: {kind}\ndata: {json.dumps(data, ensure_ascii=False)}\n\n"


@live.get("/live")
@anybody
def stream() -> Response:
    """The stream of one phone; the phone too many is told so and asks instead."""
    after = request.args.get("after") or request.headers.get("Last-Event-ID", "")
    told = _telling()
    events = _events(told, after)
    packed = takes_gzip(request)
    response = Response(packed_stream(events) if packed else events, mimetype="text/event-stream")
    if packed:
        response.headers["Content-Encoding"] = "gzip"
    response.headers["X-Accel-Buffering"] = "no"
    return response


def _events(told: Telling, after: str) -> Iterator[str]:
    feed = told.feed
    yield f"retry: {RETRY_MS}\n\n"
    with feed.stream() as placed:
        if not placed:
            yield event("full", {})
            return
        missed = away(feed, after)
        if missed is not None:
            yield event("away", missed)
        comment_s = feed.monotonic_s()
        while not feed.ended:
            news = told.news(TICK_S)
            yield event("live", news) if news else event("age", told.silence())
            if feed.monotonic_s() - comment_s >= COMMENT_EVERY_S:
                comment_s = feed.monotonic_s()
                yield ": still here\n\n"


@live.get("/live.json")
@anybody
def poll() -> Response:
    """The same for one that asks: what was missed, and the newest moment."""
    told = _telling()
    return as_json({"away": away(told.feed, request.args.get("after", "")), "live": told.news(0.0), **told.silence()})


@live.get("/clock.json")
@anybody
def clock() -> Response:
    """This machine's monotonic clock, by which a phone tells how long something was on its way."""
    return as_json({"sent_s": round(parts().feed.monotonic_s(), 3)})


def _telling() -> Telling:
    page = request.args.get("page", "")
    return Telling(parts().feed, parts().drawer, reader(), page)
