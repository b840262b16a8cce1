"""Board: the health of the computer itself, and the one thing to do about each."""

from flask import Blueprint, Response

from web.pages.show import page
from web.parts import parts
from web.roles import looks

board = Blueprint("board", __name__)


@board.get("/board")
@looks
def show() -> Response:
    """The page. Without a supervisor that answers nothing is known: it is the one that looks."""
    moment = parts().feed.latest(1.0)
    rows = moment.snapshot.get("board", []) if moment is not None else []
    return page("board", "board.html", rows=rows, wanted=[row for row in rows if row["state"] == "look"])
