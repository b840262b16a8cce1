"""The curve of a firing as data for the chart."""

from flask import Blueprint, Response

from web.access import phone
from web.history import InputRefused
from web.history import strip as read_strip
from web.parts import parts
from web.replies import as_json
from web.roles import anybody

strip = Blueprint("strip", __name__)


@strip.get("/strip/<int:firing_id>.json")
@anybody
def data(firing_id: int) -> Response:
    """About 400 stretches of the firing, and what happened in it. A phone that nobody paired sees the one of now."""
    moment = parts().feed.latest()
    firing = moment.snapshot["firing"] if moment else None
    if phone() is None and (firing is None or firing["id"] != firing_id):
        return as_json({"sentence": "An unpaired phone sees the firing of now. Pair it first."}, 403)
    try:
        curve = read_strip(parts().config.data, firing_id)
    except InputRefused as problem:
        return as_json({"sentence": str(problem)}, 404)
    return as_json(curve)
