"""Fills a fresh data directory with the invented shop: its book, and its ten melts, two at a time."""

import contextlib
import os
import signal
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path
from typing import NamedTuple

from supervisor.book.charging import Confirmed, Furnace
from supervisor.book.writing import FILE_NAME, Book, open_book
from supervisor.care.keeping import reckon_missing
from supervisor.example import mark, telling
from supervisor.example.fire import Fired, Order, fire, story_of
from supervisor.example.shop import (
    LIMITER_DAYS,
    LIMITER_TRIPPED,
    OWNER,
    PAPER_MELTS,
    PART_CHANGED_BEFORE,
    PART_NOTE,
    STORIES,
    Story,
)
from supervisor.firing.profile import top_hold_c
from supervisor.firing.profile_file import read_profile
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.furnace.proofs import KINDS
from supervisor.furnace.stages import Changed, Proved
from supervisor.logbook.directory import open_directory
from supervisor.logbook.lesson import Lesson, lesson
from supervisor.logbook.paper import PaperFiring, write_firings
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import PartRow, ProofRow
from supervisor.logbook.scribe import Scribe
from supervisor.metal.charge import Planned
from supervisor.metal.fit import Pot
from supervisor.metal.plan import Heating
from supervisor.model.learned import Model
from supervisor.orphan import end_with_parent
from supervisor.refusal import InputRefused

FURNACE = mark.FURNACE
DAY_MS = 86_400_000
WORKERS = 2
WHERE = "example"
LEARNED_AFTER = ("A-090", "A-094")
"""After these melts the furnace was learned: from the first three, and again under the new thermocouple."""

NICER = 5
"""The page comes first: it is up while the melts are fired behind it."""

Tell = Callable[[str, str, float], None]
"""Heat number, title, minutes of virtual time."""


class Shop(NamedTuple):
    """The furnace of the shop, for book and supervisor."""

    description: FurnaceDescription
    furnace: Furnace
    heating: Heating
    profile_path: str


def shop(profile_path: Path) -> Shop:
    """Furnace A, and the profile that all ten melts are fired by."""
    description = read_furnace(FURNACE)
    profile, crucible = read_profile(profile_path, description), description.crucible
    pot = Pot(crucible.capacity_kg, crucible.bore_mm, crucible.depth_mm)
    heating = Heating(profile.name, top_hold_c(profile), profile.pour_c)
    return Shop(
        description, Furnace(description.name, description.letter, "simulated", pot), heating, str(profile_path)
    )


def fill(data: Path, profile_path: Path, tell: Tell | None = None, wait: Callable[[], object] | None = None) -> None:
    """Write the shop's book and fire its melts; each is there as soon as it is done.

    wait: returns when the directory may be written into. The first melts are fired meanwhile.

    Raises:
        InputRefused: the directory is in use, or cannot be written.
    """
    marked = mark.read(data)
    assert marked is not None
    here = shop(profile_path)
    with tempfile.TemporaryDirectory(prefix="meltkeeper-") as scratch:
        orders = tell_the_book(Path(scratch), here, marked.made_utc_ms)
    with get_context("fork").Pool(WORKERS, initializer=_step_back) as workers:  # whatever happens, they end with it
        first = [order for order in orders if order.heat_number <= LEARNED_AFTER[-1]]
        fired = {order.heat_number: workers.apply_async(fire, (order,)) for order in sorted(first, key=_turn)}
        if wait is not None:
            wait()
        _type_in_paper(data, here, marked.made_utc_ms)
        for number, story in enumerate(STORIES, 1):
            done = fired.pop(story.heat_number).get()
            _write_melt(data, here, story, number, marked.made_utc_ms, done)
            mark.write(data, marked._replace(melts=number))
            if tell is not None:
                tell(story.heat_number, story.title, done.lasted_s / 60.0)
            day_after_ms = telling.start_ms(marked.made_utc_ms, story.days_ago) + DAY_MS
            if story.heat_number in LEARNED_AFTER:
                found = _learned(data, here)
                if story.heat_number == LEARNED_AFTER[-1]:  # before it is kept: the rest wait for it
                    rest = [replace(order, knowing=_taken(found)) for order in orders[len(first) :]]
                    fired |= {order.heat_number: workers.apply_async(fire, (order,)) for order in rest}
                _keep(data, found, day_after_ms)
            if story.heat_number >= LEARNED_AFTER[0] or number == len(STORIES):  # a sensor is held against a model
                with open_log(data) as log, _book(data, day_after_ms) as book:
                    reckon_missing(log, book, here.description)


def _turn(order: Order) -> tuple[bool, bool, str]:
    """Which is fired first: what the first lesson waits for, then the longest: so both workers end together."""
    return order.heat_number > LEARNED_AFTER[0], not story_of(order.heat_number).play.hung_kg, order.heat_number


def _step_back() -> None:
    end_with_parent()
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the parent, which ends them
    os.nice(NICER)


def tell_the_book(place: Path, here: Shop, made_utc_ms: int) -> list[Order]:
    """Write the whole story into a book of its own, without paper and without a log; what each charge then comes to.

    place: a directory. What is fired must be known before any of it is, for two melts are fired at a time.
    """
    orders = []
    with _book(place, telling.start_ms(made_utc_ms, telling.OPENED_DAYS)) as book:
        telling.open_shop(book, here.furnace.name, telling.paper_book(made_utc_ms), typed_in=False)
        for number, story in enumerate(STORIES, 1):
            started_ms = book.utc_ms = telling.start_ms(made_utc_ms, story.days_ago)
            done = telling.before(book, story, here.furnace, here.heating)
            orders.append(_order(here, story, number, done))
            over_ms = started_ms + 100 * telling.MINUTE_MS
            times = telling.Times(PAPER_MELTS + number, started_ms, over_ms, bool(story.ingots_kg))
            telling.after(book, story, times, None)
    return orders


def _order(here: Shop, story: Story, number: int, done: Confirmed) -> Order:
    assert done.heat_number == story.heat_number
    planned = Planned(done.charge, done.pour_c)
    return Order(story.heat_number, PAPER_MELTS + number, planned, here.description, here.profile_path)


def _type_in_paper(data: Path, here: Shop, made_utc_ms: int) -> None:
    found = telling.paper_book(made_utc_ms)
    with _book(data, telling.start_ms(made_utc_ms, telling.OPENED_DAYS)) as book:
        telling.open_shop(book, here.furnace.name, found)
        firings = [PaperFiring(each.heat_number, each.day, each.minutes, each.energy_wh, each.note) for each in found]
        write_firings(data, firings, OWNER)
        telling.close_paper(book, data, found)


def _learned(data: Path, here: Shop) -> Lesson | None:
    """What the log teaches of the furnace, as the supervisor's learner finds it; None: nothing new."""
    with open_log(data) as log:
        found = lesson(log, here.description)
    return found if isinstance(found, Lesson) else None


def _taken(found: Lesson | None) -> Model | None:
    """The model of a lesson; None: it may not be taken without a person."""
    return None if found is None or found.objections else found.model


def _keep(data: Path, found: Lesson | None, at_ms: int) -> None:
    if found is not None:
        with _log(data, "example, learned", at_ms) as scribe:
            scribe.put([found.row(adopted=_taken(found) is not None, who="supervisor", where="after a firing")])


def _write_melt(data: Path, here: Shop, story: Story, number: int, made_utc_ms: int, done: Fired) -> None:
    """The log first, then the book: what is closed there holds the digest of what is written here."""
    started_ms = telling.start_ms(made_utc_ms, story.days_ago)
    _write_log(data, here, story, number, started_ms, done)
    over_s = done.poured_s if done.poured_s is not None else done.ended_s
    over_ms = started_ms + round(1000 * over_s)
    times = telling.Times(PAPER_MELTS + number, started_ms, over_ms, done.poured_s is not None)
    with _book(data, started_ms) as book:
        telling.before(book, story, here.furnace, here.heating)
        telling.after(book, story, times, data)


def _write_log(data: Path, here: Shop, story: Story, number: int, started_ms: int, done: Fired) -> None:
    now = [started_ms]
    with _log(data, f"example {story.heat_number}", started_ms, now) as scribe:
        if number == 1:
            scribe.put([_limiter_proof(here, started_ms)])
        if story.heat_number == PART_CHANGED_BEFORE:
            before = PAPER_MELTS + number - 1
            scribe.put([PartRow(Changed("sensor", PART_NOTE, OWNER, started_ms - telling.HOUR_MS, before), WHERE)])
        for at_s, records in done.written:
            now[0] = started_ms + round(1000 * at_s)
            scribe.put(records)


def _limiter_proof(here: Shop, started_ms: int) -> ProofRow:
    """The year's proof of the limiter, made by hand in a trial before the first melt that is told here."""
    about, at_ms = KINDS["limiter-trip"].about(here.description), started_ms - LIMITER_DAYS * DAY_MS
    proved = Proved("limiter-trip", "proved", False, about, LIMITER_TRIPPED, OWNER, at_ms, 0)
    return ProofRow(proved, None, WHERE)


@contextlib.contextmanager
def _log(data: Path, boot_id: str, utc_ms: int, now: list[int] | None = None) -> Iterator[Scribe]:
    """The log, to be written at a moment of the past. now: one number, which may move on meanwhile.

    Raises:
        InputRefused: it is in use, or cannot be written.
    """
    moment = [utc_ms] if now is None else now
    with (
        open_directory(data, backend="simulated", furnace=FURNACE) as directory,
        contextlib.closing(Scribe(directory, boot_id=boot_id, utc_ms=lambda: moment[0], threaded=False)) as scribe,
    ):
        scribe.clock(0.0, utc_ms, "person")
        yield scribe
        if scribe.trouble:
            raise InputRefused(f"{data} cannot be written: {scribe.trouble}")


@contextlib.contextmanager
def _book(data: Path, utc_ms: int) -> Iterator[Book]:
    with open_book(data / FILE_NAME, who=OWNER, sent_from=WHERE, utc_ms=utc_ms) as book:
        yield book
