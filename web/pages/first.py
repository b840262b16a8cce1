"""First run: the cautions, to be read once on each phone."""

from flask import Blueprint, Response

from supervisor.alarms.cautions import cautions
from web.access import phone
from web.cookies import has_read, set_read
from web.pages.show import page
from web.parts import parts
from web.replies import go_to
from web.roles import anybody, entry

first = Blueprint("first", __name__)


@first.get("/first")
@anybody
def show() -> Response:
    """The cautions."""
    return page("first", "first.html", cautions=cautions("first_run"), read=has_read())


@first.post("/first")
@entry
def read() -> Response:
    """'I have read this.'"""
    response = go_to("/")
    paired = phone()
    if paired:
        parts().book.cautions_read(paired.id, parts().config.utc_ms())
    set_read(response)
    return response
