"""Furnace now: the headline, what the furnace asks, the strip, the levers; and what the levers send."""

from typing import Any

from flask import Blueprint, Response, request

from supervisor.book.melts import melt
from supervisor.book.starting import refusal_to_start
from supervisor.book.writing import read_book
from web.access import phone, wants_json, who
from web.asking import MESSAGES, Answer
from web.asking import lower as lowering
from web.asking import prepare as preparing
from web.cookies import has_read
from web.history import InputRefused, next_heat_number
from web.live import reader
from web.pages.show import answered, last_answer, page
from web.parts import parts
from web.replies import as_json, go_to
from web.roles import always, anybody, runs
from web.view import PALE_S

now = Blueprint("now", __name__)

PROVED_WITHIN_S = 2.0  # how long a page without script waits after a stop for 'off, proved'
ADDS_HEAT = frozenset({"prepare", "start", "resume", "raise"})


@now.get("/")
@anybody
def show() -> Response:
    """The page. A phone that has not read the cautions gets them first, unless the furnace is at work."""
    mine = parts()
    view = mine.drawer.view(reader(), mine.feed.latest(1.0))
    if view.known and not (view.heat_possible or view.live or view.alarms or has_read()):
        return go_to("/first")
    answer = last_answer()
    if answer and view.known and answer.epoch is not None and view.s["epoch"] > answer.epoch:
        answer = None  # the furnace has changed since: what was true then may not be so any more
    return page("now", "now.html", answer=answer)


@now.post("/stop")
@always
def stop() -> Response:
    """Stop heating, whoever asks, however. The answer says whether heat is proved off."""
    mine = parts()
    answer = mine.asking.ask({"command": "stop"}, who())
    off = _off() if wants_json() else _off_within(PROVED_WITHIN_S)
    if wants_json():
        return as_json({"answer": answer.kind, "sentence": answer.sentence, "off": off})
    if off != "proved":
        sentence = f"Not confirmed: switch off at the furnace. {answer.sentence}"
        answer = mine.asking.keep(answer._replace(kind="unknown", sentence=sentence, epoch=None))
    else:
        answer = mine.asking.keep(answer._replace(sentence=f"Heat is off, proved. {answer.sentence}", epoch=None))
    return answered(answer)


@now.post("/lower")
@always
def lower() -> Response:
    """Lower the setpoint. Whoever asks."""
    mine = parts()
    return answered(mine.asking.ask(lowering(request.form), who()))


@now.post("/prepare")
@runs
def prepare() -> Response:
    """Choose a profile file."""
    mine = parts()
    moment = mine.feed.latest()
    if moment is None:
        return answered(mine.asking.refuse("The supervisor does not answer."))
    try:
        number = next_heat_number(mine.config.data, moment.snapshot["furnace"]["letter"])
        message = preparing(request.form, mine.drawer.profiles(), number)
    except (ValueError, InputRefused) as problem:
        return answered(mine.asking.refuse(f"{problem}."))
    aside = _waiting(moment.snapshot)
    answer = _asked(message)
    if aside and answer.kind == "accepted":
        words = f"{answer.sentence} {aside} was put aside, not started; its page under Melts prepares it again."
        answer = mine.asking.keep(answer._replace(sentence=words))
    return answered(answer)


@now.post("/<any(start, hold, resume, acknowledge, silence, shelve, unshelve, reset, note, raise, heard, attend):name>")
@runs
def command(name: str) -> Response:
    """Any other command: its form becomes a message, its answer is shown as given."""
    paired = phone()
    assert paired is not None  # access.py lets nobody else come here
    try:
        message = MESSAGES[name](request.form, paired.units)
    except ValueError as problem:
        return answered(parts().asking.refuse(f"{problem}."))
    return answered(_asked(message))


def _asked(message: dict[str, object]) -> Answer:
    mine = parts()
    if message["command"] in ADDS_HEAT and not has_read():
        return mine.asking.refuse("Read the cautions first: page Cautions.")
    if message["command"] == "start" and (why := _not_to_start()):
        return mine.asking.refuse(why)
    if mine.bench:
        mine.bench.slow()
    return mine.asking.ask(message, who())


def _waiting(snapshot: dict[str, Any]) -> str:
    """The charge of the book that is prepared and not started, as 'A-098 (0.60 kg)'; empty: none is."""
    number = snapshot["heat_number"] if snapshot["prepared"] is not None else None
    if number is None:
        return ""
    try:
        with read_book(parts().config.book) as book:
            found = melt(book, number)
    except InputRefused:  # it came from a profile file alone: nothing was weighed for it
        return ""
    return f"{found.heat_number} ({found.mass_kg:.2f} kg)"


def _not_to_start() -> str:
    """What the book has against the charge that is prepared: things change between plan and start."""
    moment = parts().feed.latest()
    number = None if moment is None else moment.snapshot["heat_number"]
    if number is None:
        return ""
    try:
        with read_book(parts().config.book) as book:
            return refusal_to_start(book, number, parts().config.utc_ms())
    except InputRefused as problem:
        return f"{problem} Whether its metal is under quarantine is unknown."


def _off() -> str | None:
    """What the supervisor says of heat being off, if it said so just now."""
    moment = parts().feed.latest()
    if moment is None or parts().feed.age_s(moment) > PALE_S:
        return None
    off: str | None = moment.snapshot["heat"]["off"]
    return off


def _off_within(seconds: float) -> str | None:
    feed = parts().feed
    until_s = feed.monotonic_s() + seconds
    moment = feed.latest()
    while (left_s := until_s - feed.monotonic_s()) > 0:
        news = feed.after(moment.number if moment else 0, left_s)
        moment = news or moment
        if news and news.snapshot["heat"]["off"] == "proved":
            return "proved"
    return _off()
