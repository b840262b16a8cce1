"""What people enter into the record of a melt: ingots, dross, pot, walks, closing. It adds no heat."""

from collections.abc import Callable, Mapping

from flask import Blueprint, Response, request

from supervisor.book import closing, firings, ingots, melts, pot
from supervisor.book.firings import laid
from supervisor.book.melts import Melt
from supervisor.book.writing import Book
from supervisor.metal.masses import kg_of, kg_or_none_of
from supervisor.refusal import InputRefused
from web.metal import written
from web.parts import parts
from web.roles import runs

entries = Blueprint("entries", __name__)

Form = Mapping[str, str]

MOST_LAID = 20
"""Names at once."""


def _count(book: Book, found: Melt, form: Form) -> str:
    typed = form.get("masses", "").replace(";", " ").split()
    maker = form.get("maker", "").strip() or book.who
    if len(typed) == 1 and typed[0].isascii() and typed[0].isdigit() and int(typed[0][:4]) <= melts.MOST_INGOTS:
        return ingots.count(book, found, [None] * int(typed[0]), maker)
    return ingots.count(book, found, [kg_of(each) for each in typed], maker)


def _dross(book: Book, found: Melt, form: Form) -> str:
    splash = form.get("splash", "").strip() or "0"
    return melts.dross(book, found, kg_or_none_of(form.get("dross", "")), splash_kg=kg_or_none_of(splash))


def _pot(book: Book, found: Melt, form: Form) -> str:
    what, kg = form.get("what", ""), form.get("kg", "").strip()
    if what == "put back":
        return pot.put_back(book, found)
    return pot.say(book, found, what, kg_of(kg) if kg and what == "heel" else None)


def _walk(book: Book, found: Melt, form: Form) -> str:
    return melts.walked(book, found, form.get("seen", ""), smoulder=form.get("smoulder") == "yes")


def _close(book: Book, found: Melt, form: Form) -> str:
    return closing.close(book, parts().config.data, found.heat_number)


WHAT: Mapping[str, Callable[[Book, Melt, Form], str]] = {
    "count": _count,
    "dross": _dross,
    "pot": _pot,
    "walk": _walk,
    "remark": lambda book, found, form: melts.remark(book, found, form.get("text", "")),
    "close": _close,
    "again": lambda book, found, form: closing.open_again(book, found.heat_number, form.get("reason", "")),
}
"""What may be entered, by the last part of its address."""


@entries.post("/melts/<heat_number>/<what>")
@runs
def enter(heat_number: str, what: str) -> Response:
    """Enter it, and show the melt again with what became of it."""

    def write(book: Book) -> str:
        if what not in WHAT:
            raise InputRefused(f"what is {what[:20]!r}; allowed: {', '.join(WHAT)}")
        return WHAT[what](book, melts.melt(book, heat_number), request.form)

    return written(f"/melts/{_safe(heat_number)}", write)


@entries.post("/melts/<int:firing_id>/prove")
@runs
def prove(firing_id: int) -> Response:
    """Say what lay in a firing without metal; its own record tells what that proves."""
    names, why = request.form.get("names", "").replace(",", " ").split(), request.form.get("why", "")

    def write(book: Book) -> str:
        of = firings.record(parts().config.data, str(firing_id)[:12])
        for name in names[:MOST_LAID]:
            firings.lay_in(book, of, *laid(book, name), why)
        if not of.is_over:
            return "Noted. What the firing proves is told when it is over: ask then."
        return " ".join(firings.prove(book, of))

    return written(f"/melts/{str(firing_id)[:12]}", write)


def _safe(heat_number: str) -> str:
    """A heat number in an address of ours: what is none goes back to the list."""
    kept = "".join(letter for letter in heat_number if letter.isascii() and (letter.isalnum() or letter == "-"))
    return kept[:20] or "none"
