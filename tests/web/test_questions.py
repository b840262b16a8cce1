"""What a person at, near or away from the furnace asks, and the sentence that answers it, in situations that differ.

The table is the whole. Each question has a page and two situations in which that page says another thing. Numbers are
held against the simulated furnace's own truth, or reckoned here from the snapshot or the book that they come from.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from html import unescape
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from supervisor.book import lots, melts
from supervisor.book.closing import fired
from supervisor.book.moulds import add_mould
from supervisor.book.plans import Entry, keep
from supervisor.book.proofs import dried, stored_cold
from supervisor.book.writing import Book, open_book
from tests.supervisor.book.shop import Shop, story
from tests.web.conftest import Browser, Clock
from tests.web.kept import keep_firings
from tests.web.looking import said
from tests.web.melt_at_hand import Moment, moments
from tests.web.scripted import Scripted
from tests.web.snapshots import AWAY, CAME_BACK, HEATING, IDLE, SOONER, STOPPED, TRIPPED, Snapshot, alarm, commands, made
from web.words import hour

MIN_MS = 60_000


class Scene:
    """A furnace that says what it is told to, a book, and a paired phone."""

    def __init__(self, phone: Browser, furnace: Scripted, data: Path, time: Clock) -> None:
        self.phone, self.furnace, self.data, self.time = phone, furnace, data, time

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


class Question(NamedTuple):
    """One row of the table."""

    asked: str
    page: str
    situations: tuple[Situation, Situation]


@pytest.fixture
def scene(phone: Browser, furnace: Scripted, data: Path, time: Clock) -> Scene:
    return Scene(phone, furnace, data, time)


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
        said_ = {"before": "Stopped: do not touch before", "key": "{hour}", "after": headline, "tone": "calm"}
        scene.show(STOPPED, headline={**STOPPED["headline"], **said_, "in_s": in_s})
        return f"do not touch before {hour(STOPPED['utc_ms'] + int(in_s * 1000))}. {headline}"

    return arrange


SOLID = {"state": "solid", "sentence": "What is in the pot is solid.", "solid_in_s": 0.0}
SUPPLY = {**CAME_BACK["aftermath"], "metal": SOLID}
WAITS = "Hold 5 min. It waits for the metal."
STAY = {**HEATING["be_back"], "in_s": None, "why_not": "The lid switch is not fitted."}
LID_OPEN = [{**each, "met": each["name"] != "lid shut"} for each in IDLE["permissives"]]
LIMITER = [alarm("limiter", sentence="The over-temperature limiter opened.")]


# --- the metal -------------------------------------------------------------------------------------------------------


def plate(book: Book, kg: float, longest_mm: float, **more: Any) -> lots.Lot:
    return lots.add(
        book, kg, form="solid_offcut", origin="plate", certainty="marked", surface="bare", shape="solid",
        longest_mm=longest_mm, **{"alloy_name": "6082", **more},
    )  # fmt: skip


def planned(kg: float, longest_mm: float, words: str, **more: Any) -> Situation:
    """A plan of one lot in two moulds, and what its page says. Its number is in the words as {plan}."""

    def arrange(scene: Scene) -> str:
        scene.show(STOPPED)
        with scene.book() as book:
            lot = plate(book, kg, longest_mm, **more)
            trays = [add_mould(book, "tray", 600.0, mass_kg=5.0).id for _ in range(2)]
            dried(book, [("lot", lot.id), *(("mould", tray) for tray in trays)], 160.0, 120.0)
            keep(book, [Entry(("lot", lot.id), kg)], profile="example/ingots-2kg", mould_ids=trays)
        return words

    return arrange


def cannot_be_reckoned(scene: Scene) -> str:
    planned(1.0, 60.0, "")(scene)
    scene.furnace.link.forecast_with(lambda profile, planned: (None, "It cannot be reckoned for this furnace."))
    return "It cannot be reckoned for this furnace."


def a_lot(kept: Callable[[Book, lots.Lot], Any], words: str) -> Situation:
    def arrange(scene: Scene) -> str:
        with scene.book() as book:
            kept(book, next(iter(lots.lots(book)), None) or plate(book, 2.4, 60.0))
        return words

    return arrange


def the_story(scene: Scene) -> Shop:
    shop = Shop(scene.data)
    if not scene.data.joinpath("book.db").is_file() or not list(_melts(shop)):
        story(shop)
    return shop


def _melts(shop: Shop) -> list[melts.Melt]:
    with shop.reading() as book:
        return melts.melts(book)


def ingot_is_clear(scene: Scene) -> str:
    the_story(scene)
    return "A-094/1 is on the shelf."


def ingot_is_held(scene: Scene) -> str:
    the_story(scene).quarantine("L-31", "lead found")
    return "A-094/1 is under quarantine."


def lot_went_nowhere_bad(scene: Scene) -> str:
    the_story(scene)
    return "Nothing is under quarantine."


def lot_is_everywhere(scene: Scene) -> str:
    the_story(scene).quarantine("L-31", "lead found")
    return "reached ten ingots: four of A-094, four of A-095, two of A-096."


def walk(minutes: int) -> Situation:
    def arrange(scene: Scene) -> str:
        if not scene.data.joinpath("furnace.db").is_file():
            keep_firings(scene.data)
            shop = Shop(scene.data)
            shop.lot("L-1", 4.0)
            shop.melt("A-096", L_1=2.0)
        over_ms = fired(scene.data)["A-096"].over_utc_ms
        assert over_ms is not None
        hot = {"c": 300.0, "age_s": 0.0, "fault": None}
        scene.show(STOPPED, utc_ms=over_ms + minutes * MIN_MS, hot_junction=hot)
        return f"Walk round now: {30 if minutes < 60 else 60}-minute look for smoulder, melt A-096."

    return arrange


def balanced(masses: str, words: str) -> Situation:
    def arrange(scene: Scene) -> str:
        shop = Shop(scene.data)
        if not scene.data.joinpath("book.db").is_file() or not _melts(shop):
            shop.lot("L-1", 4.0)
            shop.melt("A-001", backend="paper", L_1=2.4)
        scene.phone.takes_s = 1.0
        scene.phone.post("/melts/A-001/count", data={"masses": masses, "maker": "Bo"})
        scene.phone.post("/melts/A-001/dross", data={"dross": "0.06"})
        return words

    return arrange


TABLE = (
    Question("May I step away?", "/", (
        shown(AWAY, "Be no further away than five minutes."),
        shown(HEATING, "Nobody may go away. The lid switch is not fitted.", be_back=STAY),
    )),
    Question("When must I be back?", "/", (
        shown(AWAY, "Heating, all solid. Be back by {in 1260}. Nothing melts until you press."),
        shown(SOONER, "All solid. Be back by {in 900} 6 min sooner: the mains came up."),
    )),
    Question("Is it melted?", "/", (share_molten("half"), share_molten("ready"))),
    Question("Can I pour?", "/pour", (not_yet_ready, likely_ready_to)),
    Question("Is that the metal?", "/", (two_temperatures("half"), two_temperatures("ready"))),
    Question("What is it doing?", "/", (
        shown(HEATING, f"{HEATING['doing']} Duty 0.62."),
        shown(HEATING, "Hold 5 min. It waits for the metal. Duty 0.40.", doing=WAITS, duty=0.4),
    )),
    Question("Is this live?", "/", (page_is_fresh, page_is_old)),
    Question("Why did it stop?", "/", (
        shown(TRIPPED, "The sensor wire broke."),
        shown(TRIPPED, "The over-temperature limiter opened.", alarms=LIMITER),
    )),
    Question("Power was off; now?", "/", (
        shown(CAME_BACK, "It was away 42 min. Metal may be liquid inside, for another 4 h 10 min at the latest."),
        shown(CAME_BACK, "It was away 42 min. What is in the pot is solid.", aftermath=SUPPLY),
    )),
    Question("Start from the sofa?", "/", (
        shown(IDLE, "Startthen hold the button at the furnace 3 s, within 60 s"),
        shown(IDLE, "Lid shut: missing", permissives=LID_OPEN, commands=commands("prepare", "stop")),
    )),
    Question("Will this charge fit?", "/plan/P-00{n}", (
        planned(1.9, 60.0, "volume"),
        planned(1.9, 240.0, "mm too long: it holds the lid up."),
    )),
    Question("What will I get?", "/plan/P-00{n}", (
        planned(1.9, 60.0, "makes two ingots near 6082"),
        planned(1.9, 60.0, "makes two ingots near A356.0", alloy_name="A356.0"),
    )),
    Question("How long, how dear?", "/plan/P-00{n}", (
        planned(1.9, 60.0, "About 3.4 kWh, 0.71 EUR."),
        cannot_be_reckoned,
    )),
    Question("Was this dried?", "/lots/L-1", (
        a_lot(lambda book, lot: dried(book, [("lot", lot.id)], 160.0, 120.0), "Dry until"),
        a_lot(lambda book, lot: stored_cold(book, ("lot", lot.id)), "L-1 was dried, and then stored cold"),
    )),
    Question("What is this bar?", "/ingots/A-094-1", (ingot_is_clear, ingot_is_held)),
    Question("Where did the bad lot go?", "/metal", (lot_went_nowhere_bad, lot_is_everywhere)),
    Question("All metal out?", "/melts/A-001", (
        balanced("0.58 0.58 0.58 0.57", "30 g not found"),
        balanced("0.02", "10 g not found"),
    )),
    Question("Can I touch it?", "/", (
        off_since("Pot drained; off, proved. 351 °C now.", 20_000.0),
        off_since("Pot drained; off, proved. 90 °C now.", 5_000.0),
    )),
    Question("Anything smouldering?", "/", (walk(31), walk(61))),
)  # fmt: skip


@pytest.mark.parametrize("question", TABLE, ids=lambda question: question.asked)
def test_a_question_has_an_answer_that_differs_with_the_situation(scene: Scene, question: Question) -> None:
    pages = []
    for number, situation in enumerate(question.situations, start=1):
        words = situation(scene)
        page = scene.page(question.page.replace("{n}", str(number)))
        assert words in page, (question.asked, number, words, page)
        pages.append((page, words))
    (first, _), (_, second_words) = pages
    assert second_words not in first, "the same is said in both"
