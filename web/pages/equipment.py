"""Equipment: what is fitted and what is not, what that costs, every watch, and what nothing here can notice."""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, Response, request

from supervisor.alarms.cautions import cautions
from supervisor.book.writing import Book
from supervisor.care import stating
from supervisor.logbook.reading import open_log
from supervisor.refusal import refusal
from web.access import who
from web.asking import number
from web.care import shown
from web.equipment import PUT_ASIDE, SPEAKS, Procedure, last_spoken, procedures, states
from web.feed import Moment
from web.history import InputRefused
from web.metal import written
from web.pages.show import answered, last_answer, page
from web.parts import parts
from web.roles import looks, runs
from web.unlocked import Part, Practised, parts_worn, practised, unlocked

equipment = Blueprint("equipment", __name__)

CAREFUL = tuple({each.id: each for moment in ("maintenance", "wiring") for each in cautions(moment)}.values())
"""What is said where hands may go near element and terminals; each once."""


@equipment.get("/equipment")
@looks
def show() -> Response:
    """The page. Without a supervisor that answers it says so: what was fitted an hour ago is no answer."""
    mine = parts()
    moment, trouble = mine.feed.latest(1.0), ""
    spoken: dict[str, int] = {}
    proved: list[Procedure] = []
    try:
        spoken, proved = last_spoken(mine.config.data), procedures(mine.config.data)
    except InputRefused as problem:
        trouble = str(problem)
    fitted = None
    if moment is not None:
        try:
            fitted = mine.equipment.of(moment.snapshot["run"])
        except OSError as problem:
            trouble = str(problem)
    worn: list[Part] = []
    known = None
    last: Practised | None = None
    if fitted is not None:
        try:
            titles = {each["name"]: each["title"] for each in fitted.get("changed", ())}
            worn, last = parts_worn(mine.config.data, titles), practised(mine.config.data)
            known = shown(mine.config.data, mine.config.book, mine.config.utc_ms())
        except InputRefused as problem:
            trouble = str(problem)
    now = states(fitted["watches"], moment.snapshot) if fitted and moment else {}
    return page(
        "equipment",
        "equipment.html",
        fitted=fitted,
        trouble=trouble or ("" if fitted else "The supervisor does not answer."),
        spoken=spoken,
        procedures=proved,
        unlocked=unlocked(fitted, moment.snapshot) if fitted and moment else None,
        worn=worn,
        practised=last,
        states=now,
        shown=known,
        titles={each["name"]: each["title"] for each in fitted.get("changed", ())} if fitted else {},
        leaked=_leaked(moment),
        correction=moment.snapshot["hot_junction"].get("correction") if moment else None,
        answer=last_answer(),
        careful=CAREFUL,
        noted=[name for name, state in now.items() if state == SPEAKS or state.startswith(PUT_ASIDE)],
    )


def _leaked(moment: Moment | None) -> Mapping[str, Any] | None:
    """The condition that is not met because the earth-leakage device has tripped; None: it has not."""
    asked = moment.snapshot.get("permissives", ()) if moment else ()
    return next((each for each in asked if each["name"] == "earth leakage" and not each["met"]), None)


@equipment.post("/equipment/care")
@runs
def care() -> Response:
    """Keep what somebody measured or saw of the furnace itself."""
    form, mine = request.form, parts()
    note = form.get("note", "")

    def write(book: Book) -> str:
        match form.get("kind", ""):
            case "ice check" | "boiling check" as kind:
                altitude_m = number(form, "altitude", "m") if form.get("altitude", "").strip() else None
                return stating.fixed(book, kind, number(form, "value", "°C"), altitude_m=altitude_m)
            case "mains voltage":
                with open_log(mine.config.data) as log:
                    return stating.voltage(log, book, number(form, "value", "V"), mine.config.utc_ms(), note=note)
            case "crucible look":
                return stating.looked(book, form.get("pot", ""), cracked=form.get("value") != "whole", note=note)
            case "near miss":
                return f"Kept as number {stating.near_miss(book, note)}."
            case kind:
                raise refusal("care", "kind", kind, "a form of this page")

    return written("/equipment", write)


@equipment.post("/equipment")
@runs
def practise() -> Response:
    """Begin, go on with or end a cold practice. It gives no heat, and can give none."""
    asking = parts().asking
    act = request.form.get("act", "")
    if act not in ("begin", "done", "end"):
        return answered(asking.refuse(f"act is {act!r}; allowed: begin, done, end."))
    return answered(asking.ask({"command": "practise", "act": act}, who()))


@equipment.post("/equipment/part")
@runs
def change() -> Response:
    """A part was fitted new or mended: it takes proofs back, and what was learned where the furnace is another now."""
    asking = parts().asking
    part, note = request.form.get("part", ""), request.form.get("note", "").strip()
    if not note:
        return answered(asking.refuse("Say what was done, and why."))
    return answered(asking.ask({"command": "part", "part": part, "note": note}, who()))
