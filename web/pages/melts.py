"""Melts: the list of them, what is still open of each, and the firings without metal."""

from flask import Blueprint, Response

from web.history import InputRefused, firings
from web.melted import lines, verdict
from web.metal import reading
from web.pages.show import page
from web.parts import parts
from web.roles import looks

melts = Blueprint("melts", __name__)


@melts.get("/melts")
@looks
def show() -> Response:
    """The list."""
    try:
        found = firings(parts().config.data)
        with reading() as book:
            with_metal, without = lines(book, parts().config.data, found)
    except InputRefused as problem:
        return page("melts", "melts.html", melts=[], without=[], headline="The log cannot be shown.", lead=str(problem))
    headline, lead = verdict(with_metal, without)
    return page("melts", "melts.html", melts=with_metal, without=without, headline=headline, lead=lead)
