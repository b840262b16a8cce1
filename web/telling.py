"""What phones are told of each moment: what changed since the last one, drawn and written once for all who share it."""

import json
from threading import Lock
from typing import Any

from web.drawing import Drawer
from web.feed import Feed, Moment
from web.view import Reader
from web.words import second


class Word:
    """What was told of one moment: its live parts, what of it was news, and that as an event of the stream."""

    __slots__ = ("event", "news", "number", "regions")

    def __init__(self, number: int, regions: dict[str, str], news: dict[str, Any]):
        self.number = number
        self.regions = regions
        self.news = news
        self.event = event("live", news)


class Teller:
    """Makes words. Threads share it: twenty phones that were told the same before are told the same now."""

    def __init__(self, feed: Feed, drawer: Drawer):
        self._feed = feed
        self._drawer = drawer
        self._lock = Lock()
        self._number = 0
        self._words: dict[tuple[Reader, str, Word | None], Word] = {}

    def word(self, moment: Moment, reader: Reader, page: str, before: Word | None) -> Word:
        """What a phone is told of a moment when it was told `before` last; None: nothing yet."""
        with self._lock:
            if self._number != moment.number:
                self._words.clear()
                self._number = moment.number
            key = (reader, page, before)
            if key not in self._words:
                self._words[key] = self._make(moment, reader, page, before)
            return self._words[key]

    def _make(self, moment: Moment, reader: Reader, page: str, before: Word | None) -> Word:
        view = self._drawer.view(reader, moment)
        drawn = self._drawer.regions(view, page)
        known = before.regions if before else {}
        news = {
            "id": self._feed.id_of(moment),
            **self.when(view.age_s),
            "at": second(view.s["utc_ms"]),
            "tone": view.tone,
            "off": view.s["heat"]["off"],
            "alarms": bool(view.alarms),
            "sound": view.sound,
            "live": view.live,
            "point": view.point,
            "regions": {name: html for name, html in drawn.items() if known.get(name) != html},
        }
        return Word(moment.number, drawn, news)

    def when(self, age_s: float | None) -> dict[str, Any]:
        """An age, and this machine's monotonic clock now: what lies in a queue on the way grows older unseen."""
        return {"age_s": None if age_s is None else round(age_s, 3), "sent_s": round(self._feed.monotonic_s(), 3)}

    def silence(self) -> dict[str, Any]:
        """How old the newest moment is, when no new one came."""
        moment = self._feed.latest()
        return self.when(self._feed.age_s(moment) if moment else None)


def event(kind: str, data: dict[str, Any]) -> str:
    """One server-sent event. Source: WHATWG HTML, section 9.2, event stream format."""
    own_id = f"id: {data['id']}\n" if "id" in data else ""
    return f"{own_id}event: {kind}\ndata: {json.dumps(data, ensure_ascii=False)}\n\n"
