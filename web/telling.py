"""What phones are told of each moment: what changed since the last one, drawn and written once for all who share it."""

import json
from collections import OrderedDict
from threading import Lock
from typing import Any

from web.drawing import Drawer
from web.feed import Feed, Moment
from web.view import Reader, View
from web.words import second

REMEMBERED = 24
"""Pages and words of the last seconds, which a phone that connects has already: it is sent what is new in them."""
NOT_REMEMBERED = frozenset({"bench"})
"""It changes with its levers, between two moments."""


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
        self._drawn: OrderedDict[tuple[str, Reader, str], Word] = OrderedDict()

    def page(self, view: View, page: str) -> dict[str, str]:
        """The live parts of a page that is sent whole; the stream that it opens goes on from there."""
        regions = self._drawer.regions(view, page)
        if view.moment and not view.staleness:
            with self._lock:
                self._remember(self._feed.id_of(view.moment), view.reader, page, Word(view.moment.number, regions, {}))
        return regions

    def known(self, moment_id: str, reader: Reader, page: str) -> Word | None:
        """What a phone with that id shows of this page; None: that is not remembered, so send it all."""
        with self._lock:
            return self._drawn.get((moment_id, reader, page))

    def word(self, moment: Moment, reader: Reader, page: str, before: Word | None) -> Word:
        """What a phone is told of a moment when it was told `before` last; None: nothing yet."""
        with self._lock:
            if self._number != moment.number:
                self._words.clear()
                self._number = moment.number
            key = (reader, page, before)
            if key not in self._words:
                self._words[key] = made = self._make(moment, reader, page, before)
                if not self._drawer.view(reader, moment).staleness:
                    self._remember(made.news["id"], reader, page, made)
            return self._words[key]

    def _remember(self, moment_id: str, reader: Reader, page: str, word: Word) -> None:
        key = (moment_id, reader, page)
        lasting = {name: html for name, html in word.regions.items() if name not in NOT_REMEMBERED}
        if before := self._drawn.get(key):  # drawn twice: one of the two may have gone to that phone
            lasting = {name: html for name, html in lasting.items() if before.regions.get(name) == html}
        self._drawn[key] = Word(word.number, lasting, {})
        while len(self._drawn) > REMEMBERED:
            self._drawn.popitem(last=False)

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
            "epoch": view.s["epoch"],
            "point": point(view),
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


def point(view: View) -> dict[str, Any] | None:
    """What the strip appends: the newest reading, the plan ahead, gate and walls, the way to the pour."""
    if not view.known or (shown := view.s["firing"] or (view.cut and {"id": view.cut.id, "elapsed_s": None})) is None:
        return None
    s = view.s
    return {
        "firing": shown["id"],
        "t_s": shown["elapsed_s"],
        "c": s["hot_junction"]["c"],
        "setpoint_c": s["setpoint_c"],
        "ahead": s["profile"]["ahead"] if s["profile"] and view.live else [],
        "gate": s["gate"],
        "live": view.live,
        "metal": view.metal if view.live else None,
        "back_in_s": s["be_back"]["in_s"] if view.back_utc_ms is not None else None,
        "look": s["pour"]["stage"] == "look",
        "pour_to_in_s": None if view.old else s["pour"]["to_in_s"],
    }
