"""Model: what is learned of this furnace, model against data, and how an earlier model is put back."""

from flask import Blueprint, Response, request

from supervisor.link.client import adopt_message
from web.access import who
from web.chart import against
from web.history import InputRefused
from web.learned import BOOST_NEEDS, PHASES, Learned, factors, kept_as, lacks, learned
from web.live import reader
from web.pages.show import answered, page
from web.parts import parts
from web.roles import looks, runs

model = Blueprint("model", __name__)


@model.get("/model")
@looks
def show() -> Response:
    """The page."""
    try:
        found, trouble = learned(parts().config.data), ""
    except InputRefused as problem:
        found, trouble = Learned(None, None, [], {}), str(problem)
    says = found.used.model if found.used else None
    return page(
        "model",
        "model.html",
        trouble=trouble,
        found=found,
        says=says,
        factors=factors(says) if says else [],
        lacks=lacks(says),
        pictures=_pictures(found),
        phases=PHASES,
        needs=BOOST_NEEDS,
    )


@model.post("/model")
@runs
def adopt() -> Response:
    """Put an earlier model back, or take the one that waits. The supervisor says whether it needs the button."""
    mine, typed = parts(), request.form.get("model", "")
    kept = kept_as(mine.config.data, int(typed)) if typed.isdecimal() else None
    if kept is None:
        return answered(mine.asking.refuse(f"model is {typed!r}; allowed: one of the list."))
    return answered(mine.asking.ask({"command": "adopt", **adopt_message(kept)}, who()))


def _pictures(found: Learned) -> list[tuple[str, str]]:
    """Each firing that the model in use was learned from, as far as its row keeps it: name and SVG."""
    if found.used is None:
        return []
    named = [
        (found.names.get(series["firing_id"], f"No. {series['firing_id']}"), series)
        for series in found.used.against.get("series", [])
    ]
    return [(name, against(series, name, reader().units)) for name, series in named]
