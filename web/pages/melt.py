"""One melt: how it ended, its strip, its numbers, its hours; and the same as a table for any other program."""

import io
from typing import Any

from flask import Blueprint, Response, current_app, request

from supervisor.book.phases import Course, course
from supervisor.logbook.export import write_csv
from supervisor.logbook.reading import Firing, open_log
from supervisor.metal.cost import Cost
from web.came import came, dips, hottest
from web.history import InputRefused, firings, hours, one
from web.live import reader
from web.looking_back import cost_of
from web.melted import Lay, MetalOf, lay_in, metal_of
from web.metal import reading
from web.pages.show import last_answer, page
from web.parts import parts
from web.replies import go_to
from web.roles import looks

melt = Blueprint("melt", __name__)


@melt.get("/melts/<int:firing_id>")
@looks
def show(firing_id: int) -> Response:
    """The page of one firing."""
    try:
        found = one(parts().config.data, firing_id)
    except InputRefused as problem:
        return _missing(str(problem))
    metal = _metal(found["firing"].heat_number)
    by_phases, beside = _course(found["firing"])
    return page(
        "melts",
        "melt.html",
        **found,
        metal=metal,
        course=by_phases,
        beside=beside,
        cost=None if metal is None else _cost(found, metal),
        lay=None if found["firing"].heat_number or found["frozen"].get("charge") else _lay(firing_id),
        answer=last_answer(),
        hours=hours(found),
        came=came(found),
        dips=list(dips(found, reader().units)),
        hottest=hottest(found),
    )


@melt.get("/melts/<heat_number>")
@looks
def show_charge(heat_number: str) -> Response:
    """The page of one melt by its heat number: of its firing, once it was fired; of its charge alone before."""
    try:
        fired = [firing.id for firing in firings(parts().config.data) if firing.heat_number == heat_number]
        found = None if fired else _metal(heat_number)
    except InputRefused as problem:
        return _missing(str(problem))
    if fired:
        return go_to(f"/melts/{fired[0]}{'?' + request.query_string.decode() if request.query_string else ''}")
    if found is None:
        return _missing("There is no melt of that number.")
    return page("melts", "charge.html", metal=found, answer=last_answer())


BESIDE = 3


def _course(firing: Firing) -> tuple[Course | None, list[int]]:
    """The firing by its phases, and the melts before it that it may be put beside."""
    if firing.backend == "paper" or firing.heat_number is None:
        return None, []
    with open_log(parts().config.data) as log:
        earlier = [each.id for each in log.firings(limit=4 * BESIDE, before_id=firing.id) if _is_like(each)]
        return course(log, firing), earlier[:BESIDE]


def _is_like(firing: Firing) -> bool:
    return firing.backend != "paper" and firing.heat_number is not None and firing.state == "complete"


def _cost(found: dict[str, Any], metal: MetalOf) -> Cost | None:
    firing = found["firing"]
    cast = [ingot for ingot, _, _ in metal.ingots]
    return cost_of(found["frozen"], firing.energy_wh, metal.status.balance, cast, (firing.lasted_s or 0.0) / 3600.0)


def _metal(heat_number: str | None) -> MetalOf | None:
    if heat_number is None:
        return None
    with reading() as book:
        return metal_of(book, parts().config.data, heat_number)


def _lay(firing_id: int) -> list[Lay]:
    with reading() as book:
        return lay_in(book, firing_id)


def _missing(why: str) -> Response:
    return page("melts", "melts.html", status=404, melts=[], without=[], headline="There is no such melt.", lead=why)


@melt.get("/melts/<int:firing_id>.csv")
@looks
def table(firing_id: int) -> Response:
    """Every sample of one firing as CSV."""
    text = io.StringIO(newline="")
    try:
        with open_log(parts().config.data) as log:
            name = log.firing(firing_id).heat_number or f"firing-{firing_id}"
            write_csv(log, firing_id, text)
    except InputRefused as problem:
        return _missing(str(problem))
    response = current_app.response_class(text.getvalue(), mimetype="text/csv")
    response.headers["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return response
