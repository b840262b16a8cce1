"""Melts: every firing that the log holds, newest first."""

from flask import Blueprint, Response

from web.history import InputRefused, firings
from web.pages.show import page
from web.parts import parts
from web.roles import looks

melts = Blueprint("melts", __name__)


@melts.get("/melts")
@looks
def show() -> Response:
    """The list."""
    try:
        found, trouble = firings(parts().config.data), ""
    except InputRefused as problem:
        found, trouble = [], str(problem)
    return page("melts", "melts.html", firings=found, trouble=trouble)
