"""The record of a melt as one file to keep or to send: a page with everything inside, or plain rows."""

from collections.abc import Callable

from flask import Blueprint, Response, current_app

from supervisor.copies import names
from supervisor.copies.record import Record, as_json, record
from supervisor.copies.shown import page_of
from web.history import InputRefused
from web.parts import parts
from web.roles import looks

keeping = Blueprint("keeping", __name__)


@keeping.get("/melts/<int:firing_id>.html")
@looks
def as_page(firing_id: int) -> Response:
    """One page: opens anywhere, without names of people."""
    return _file(firing_id, "html", "text/html", lambda whole: page_of(whole, utc_ms=parts().config.utc_ms()))


@keeping.get("/melts/<int:firing_id>.json")
@looks
def as_rows(firing_id: int) -> Response:
    """Every row of log and book that belongs to it, without names of people."""
    return _file(firing_id, "json", "application/json", as_json)


def _file(firing_id: int, ending: str, kind: str, written: Callable[[Record], str]) -> Response:
    config = parts().config
    try:
        known = names.known(config.data)
        whole = record(config.data, str(firing_id), with_names=False, known=known, utc_ms=config.utc_ms())
        text = written(whole)
    except InputRefused as problem:
        return current_app.response_class(f"{problem}\n", 404, mimetype="text/plain")
    name = f"{whole.heat_number or f'firing-{firing_id}'}.{ending}"
    saved = {"Content-Disposition": f'attachment; filename="{name}"'}
    return current_app.response_class(text, mimetype=kind, headers=saved)
