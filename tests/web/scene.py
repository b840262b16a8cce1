"""Situations at the furnace, and what its pages must say in them."""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from html import unescape
from pathlib import Path
from typing import Any

from supervisor.book.writing import Book, open_book
from tests.web.conftest import Browser, Clock
from tests.web.looking import said
from tests.web.melt_at_hand import Moment, moments
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import Snapshot, made
from tests.web.snapshots import HEATING, IDLE, STOPPED
from tests.web.snapshots_trouble import CAME_BACK, alarm
from web.words import hour

MIN_MS = 60_000


class Scene:
    """A furnace that says what it is told to, a book, and a paired phone."""

    def __init__(self, phone: Browser, furnace: Scripted, data: Path, time: Clock) -> None:
        self.phone, self.furnace, self.data, self.time = phone, furnace, data, time
        self.wanted = ""

    def page(self, path: str) -> str:
        """What the page says, as one line."""
        answer = self.phone.get(path)
        assert answer.status_code == 200, answer.text
        html = re.sub(r"<template.*?</template>|<nav.*?</nav>|<svg.*?</svg>", "", answer.text, flags=re.DOTALL)
        words = " ".join(said(re.sub(r"<(br|/[a-z0-9]+)>", " ", html)).split())
        return unescape(words).replace(" .", ".").replace(" ,", ",").replace(" °", " °")

    def show(self, snapshot: Snapshot, **changes: Any) -> None:
        self.furnace.show(snapshot, **changes)

    def at(self, name: str) -> Moment:
        """A moment of a melt of the simulated furnace, shown on the pages."""
        moment = moments()[name]
        self.show(moment.shown)
        return moment

    @contextmanager
    def book(self) -> Iterator[Book]:
        with open_book(self.data / "book.db", who="Ada", sent_from="page", utc_ms=self.time.utc_ms()) as book:
            yield book


Situation = Callable[[Scene], str]
"""Arranges it, and gives what the page must say then."""


# --- at the furnace, and away from it --------------------------------------------------------------------------------


def shown(snapshot: Snapshot, words: str, **changes: Any) -> Situation:
    """A snapshot, and what the page says of it. {in N}: the hour so many seconds later."""

    def arrange(scene: Scene) -> str:
        scene.show(snapshot, **changes)
        begun = made(snapshot)["firing"]
        now_ms = begun["started_utc_ms"] + begun["elapsed_s"] * 1000 if begun else snapshot["utc_ms"]
        return re.sub(r"\{in (\d+)\}", lambda match: hour(int(now_ms + int(match[1]) * 1000)), words)

    return arrange


def share_molten(name: str) -> Situation:
    """What is said of the metal is within a quarter of what is true."""

    def arrange(scene: Scene) -> str:
        moment = scene.at(name)
        metal = moment.shown["metal"]
        assert abs(metal["quarters"] / 4 - moment.truth.share_molten) <= 0.25
        return f"± {metal['band_k']} K, {metal['words']}"

    return arrange


def two_temperatures(name: str) -> Situation:
    """Chamber as read, metal about: the reading is the plant's, the metal's truth lies in the band."""

    def arrange(scene: Scene) -> str:
        moment = scene.at(name)
        metal, read_c = moment.shown["metal"], moment.shown["hot_junction"]["c"]
        assert abs(read_c - moment.truth.hot_junction_c) <= 2.0
        assert abs(metal["about_c"] - moment.truth.metal_mean_c) <= metal["band_k"]
        return f"Metal, about {metal['about_c']} °C ± {metal['band_k']} K"

    return arrange


def likely_ready_to(scene: Scene) -> str:
    moment = scene.at("look")
    assert moment.truth.share_molten == 1.0
    begun = moment.shown["firing"]
    to_ms = begun["started_utc_ms"] + 1000 * (begun["elapsed_s"] + moment.shown["pour"]["to_in_s"])
    return f"Heat off, proved. Likely ready to {hour(int(to_ms))}"


def not_yet_ready(scene: Scene) -> str:
    moment = scene.at("half")
    assert moment.truth.share_molten < 1.0
    return "Not yet: lid shut."


def page_is_fresh(scene: Scene) -> str:
    scene.show(HEATING)
    return f"of {datetime.fromtimestamp(HEATING['utc_ms'] / 1000, UTC).astimezone():%H:%M:%S}"


def page_is_old(scene: Scene) -> str:
    scene.furnace.turning = False
    scene.time.ahead_s += 47.0
    return "This page is old. The furnace last spoke at"


def off_since(headline: str, in_s: float) -> Situation:
    def arrange(scene: Scene) -> str:
        said_ = {
            "before": "Stopped: do not touch before",
            "key": "{hour}",
            "after": f"{{day}}{headline}",
            "tone": "calm",
        }
        scene.show(STOPPED, headline={**STOPPED["headline"], **said_, "in_s": in_s})
        at_ms = STOPPED["utc_ms"] + int(in_s * 1000)
        days = (
            datetime.fromtimestamp(at_ms / 1000, UTC).astimezone().date()
            - datetime.fromtimestamp(STOPPED["utc_ms"] / 1000, UTC).astimezone().date()
        ).days
        return f"do not touch before {hour(at_ms)}{' tomorrow' * days}. {headline}"

    return arrange


SOLID = {"state": "solid", "sentence": "What is in the pot is solid.", "solid_in_s": 0.0}
SUPPLY = {**CAME_BACK["aftermath"], "metal": SOLID}
WAITS = "Hold 5 min. It waits for the metal."
STAY = {**HEATING["be_back"], "in_s": None, "why_not": "The lid switch is not fitted."}
LID_OPEN = [{**each, "met": each["name"] != "lid shut"} for each in IDLE["permissives"]]
LIMITER = [alarm("limiter", sentence="The over-temperature limiter opened.")]
