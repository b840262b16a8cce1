"""Melts: the list of them, what is still open of each, and the firings without metal."""

from flask import Blueprint, Response, request

from supervisor.book.searching import asked, search
from supervisor.book.tree import label_name
from supervisor.book.writing import Book
from supervisor.logbook.reading import open_log
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
    """The list, and what was searched for."""
    try:
        with reading() as book:
            hits = _searched(book)
    except InputRefused as problem:
        hits, refused = None, str(problem)
    else:
        refused = ""
    try:
        found = firings(parts().config.data)
        with reading() as book:
            with_metal, without = lines(book, parts().config.data, found)
    except InputRefused as problem:
        return page("melts", "melts.html", melts=[], without=[], headline="The log cannot be shown.", lead=str(problem))
    headline, lead = verdict(with_metal, without)
    return page(
        "melts",
        "melts.html",
        melts=with_metal,
        without=without,
        headline=headline,
        lead=lead,
        hits=hits,
        refused=refused,
        typed={name: request.args.get(name, "")[:LONGEST] for name in ("q", "from", "to")},
    )


LONGEST = 80
PATHS = {"melt": "/melts/{}", "ingot": "/ingots/{}", "lot": "/lots/{}"}


def _searched(book: Book) -> list[tuple[str, str, str, str, str]] | None:
    """What was found: kind, name, address, day, words; None: nothing was asked.

    Raises:
        InputRefused: the question cannot be read.
    """
    question = asked(request.args.get("q", ""), request.args.get("from", ""), request.args.get("to", ""))
    if not (question.words or question.first_day or question.last_day):
        return None
    data = parts().config.data
    if (data / "furnace.db").is_file():
        with open_log(data) as log:
            found = search(book, log, question)
    else:
        found = search(book, None, question)
    return [(hit.kind, hit.name, PATHS[hit.kind].format(label_name(hit.name)), hit.day, hit.words) for hit in found]
