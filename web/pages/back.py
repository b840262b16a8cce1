"""Be back by, as a file for the phone's calendar: one tap, and its own clock rings."""

from flask import Blueprint, Response, current_app, render_template

from web.calendar import Event, ics
from web.live import reader
from web.parts import parts
from web.roles import anybody
from web.view import View
from web.words import hour

back = Blueprint("back", __name__)

NONE = "No hour is promised now, so there is nothing to ring. Stay where the furnace wants you."


@back.get("/back.ics")
@anybody
def show() -> Response:
    """The calendar file; a sentence where no hour is promised."""
    mine = parts()
    view = mine.drawer.view(reader(), mine.feed.latest(1.0))
    if view.old or view.back_utc_ms is None:
        return current_app.response_class(render_template("refused.html", sentence=NONE), 404)
    response = Response(ics(_event(view, mine.config.utc_ms())), content_type="text/calendar; charset=utf-8")  # 8.1
    response.headers["Content-Disposition"] = 'inline; filename="be-back.ics"'
    return response


def _event(view: View, now_ms: int) -> Event:
    s, at_ms = view.s, view.back_utc_ms
    assert at_ms is not None
    furnace = s["furnace"]["title"]
    real_ms = now_ms + round(1000 * s["be_back"]["in_s"] / (view.pace or 1.0))  # a simulated furnace has its own pace
    said = f"by {hour(at_ms)}" if view.pace in (None, 1.0) else f"by {hour(at_ms)} of its own clock"
    text = (
        f"Be at {furnace} {said}. {s['be_back']['otherwise']} {s['be_back']['far']} "
        "This hour may move: a sooner one is told by the page and the furnace alone, never by this calendar. "
        "House rules, the insurer and local codes may allow less."
    )
    real = "simulated, not real: " if view.simulated else ""
    return Event(
        uid=f"{s['boot']}-{s['run']}-{s['firing']['id']}@{s['furnace']['name']}.meltkeeper",
        sequence=max(0, int(4.0 * s["monotonic_s"])),  # each cycle of the furnace has its own
        made_utc_ms=now_ms,
        at_utc_ms=real_ms,
        title=f"{real}be back at {furnace}"[0].upper() + f"{real}be back at {furnace}"[1:],
        text=text,
    )
