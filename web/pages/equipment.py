"""Equipment: what is fitted and what is not, what that costs, every watch, and what nothing here can notice."""

from flask import Blueprint, Response, request

from web.access import who
from web.equipment import PUT_ASIDE, SPEAKS, Procedure, last_spoken, procedures, states
from web.history import InputRefused
from web.pages.show import answered, page
from web.parts import parts
from web.roles import looks, runs
from web.unlocked import Part, Practised, parts_worn, practised, unlocked

equipment = Blueprint("equipment", __name__)


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
    last: Practised | None = None
    if fitted is not None:
        try:
            titles = {each["name"]: each["title"] for each in fitted.get("changed", ())}
            worn, last = parts_worn(mine.config.data, titles), practised(mine.config.data)
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
        noted=[name for name, state in now.items() if state == SPEAKS or state.startswith(PUT_ASIDE)],
    )


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
