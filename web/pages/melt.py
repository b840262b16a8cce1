"""One melt: how it ended, its strip, its numbers, its hours; and the same as a table for any other program."""

import io

from flask import Blueprint, Response, current_app

from supervisor.logbook.export import write_csv
from supervisor.logbook.reading import open_log
from web.came import came, dips, hottest
from web.history import InputRefused, hours, one
from web.live import reader
from web.pages.show import page
from web.parts import parts
from web.roles import looks

melt = Blueprint("melt", __name__)


@melt.get("/melts/<int:firing_id>")
@looks
def show(firing_id: int) -> Response:
    """The page of one firing."""
    try:
        found = one(parts().config.data, firing_id)
    except InputRefused as problem:
        return page("melts", "melts.html", status=404, firings=[], trouble=str(problem))
    return page(
        "melts",
        "melt.html",
        **found,
        hours=hours(found),
        came=came(found),
        dips=list(dips(found, reader().units)),
        hottest=hottest(found),
    )


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
        return page("melts", "melts.html", status=404, firings=[], trouble=str(problem))
    response = current_app.response_class(text.getvalue(), mimetype="text/csv")
    response.headers["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return response
