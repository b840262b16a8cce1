"""Metal: the shelf and the bins, the family tree of every bad lot, and each ingot's own page with its label."""

from typing import Any

from flask import Blueprint, Response, request

from supervisor.book import ingots as book_ingots
from supervisor.book import lots, quarantine, tree
from supervisor.book.ingots import Ingot
from supervisor.book.melts import melt_of
from supervisor.book.photos import photos
from supervisor.book.proofs import proof_of
from supervisor.book.writing import Book
from supervisor.metal import dryness
from supervisor.metal.descent import Holder
from supervisor.metal.masses import kg_of
from web.access import who
from web.asking import Answer
from web.ingot import ingot_page, label_of
from web.metal import kept, proof_entered, reading, written
from web.pages.show import last_answer, page
from web.parts import parts
from web.replies import go_to
from web.roles import anybody, looks, runs
from web.shelf import metal as read_metal

metal = Blueprint("metal", __name__)


@metal.get("/metal")
@looks
def show() -> Response:
    """Shelf, bins, and what is under quarantine."""
    try:
        with reading() as book:
            found = read_metal(book)
    except ValueError as problem:
        return _no_such(str(problem))
    return page("metal", "metal.html", metal=found, answer=last_answer())


@metal.post("/metal/quarantine")
@runs
def set_quarantine() -> Response:
    """Put something under quarantine, and tell the furnace if its metal is in the pot."""
    name, reason = request.form.get("name", ""), request.form.get("reason", "")
    reached: list[str] = []

    def write(book: Book) -> str:
        touched = quarantine.set_quarantine(book, tree.named(book, name), reason)
        reached.extend(touched.melts)
        return " ".join(quarantine.sentences(touched))

    answer = kept(write)
    told = _tell(reached, f"{name}: {reason}", lifted=False)
    return go_to(f"/metal?answer={(told or answer).id}")


@metal.post("/metal/clear")
@runs
def clear() -> Response:
    """Lift a quarantine, with the reason."""
    name, reason = request.form.get("name", ""), request.form.get("reason", "")
    freed: list[str] = []

    def write(book: Book) -> str:
        before = quarantine.state(book)
        said = quarantine.clear(book, tree.named(book, name), reason)
        gone = before.reached.keys() - quarantine.state(book).reached.keys()
        freed.extend(before.names[each] for each in gone if each.kind == "melt")
        return said

    answer = kept(write)
    told = _tell(freed, f"{name}: {reason}", lifted=True)
    return go_to(f"/metal?answer={(told or answer).id}")


def _tell(melts: list[str], text: str, *, lifted: bool) -> Answer | None:
    """Note it for the firing that runs now, or the charge that is prepared; None: it concerns neither."""
    moment = parts().feed.latest()
    if moment is None or moment.snapshot["heat_number"] not in melts:
        return None
    kind = "quarantine lifted" if lifted else "quarantine"
    return parts().asking.ask({"command": "note", "kind": kind, "text": text[:500], "where": "book"}, who())


@metal.get("/ingots/<name>")
@looks
def ingot(name: str) -> Response:
    """The page of one ingot."""
    return _shown(name, "ingot.html", scores=book_ingots.SCORES, answer=last_answer())


@metal.get("/ingots/<name>/label")
@looks
def label(name: str) -> Response:
    """Its label, to print: 62 by 29 mm."""
    address = parts().book.address() or request.host_url
    try:
        with reading() as book:
            found = label_of(ingot_page(book, _named(book, name)), address, parts().config.utc_ms())
    except ValueError as problem:
        return _no_such(str(problem))
    return page("metal", "label.html", label=found)


@metal.get("/i/<name>")
@metal.get("/I/<name>")
@anybody
def scanned(name: str) -> Response:
    """Where a label leads: today's status, for whoever scans it; a paired phone goes on from there."""
    return _shown(name, "scanned.html")


def _shown(name: str, template: str, **more: Any) -> Response:
    """An ingot on a page, or the reason why there is none."""
    try:
        with reading() as book:
            found = ingot_page(book, _named(book, name))
            taken, proof = photos(book, ("ingot", found.ingot.id)), proof_of(book, ("ingot", found.ingot.id))
    except ValueError as problem:
        return _no_such(str(problem))
    more["wet"] = dryness.refusal(found.ingot.name, proof, parts().config.utc_ms())
    more["until_ms"] = None if proof is None else dryness.until_ms(proof)
    return page("metal", template, found=found, ingot=found.ingot, photos=taken, **more)


@metal.post("/ingots/<name>/<what>")
@runs
def enter(name: str, what: str) -> Response:
    """Weigh, dry, note, use or return an ingot."""
    form = request.form

    def write(book: Book) -> str:
        found = _named(book, name)
        kg = form.get("kg", "").strip()
        if what == "weigh":
            return book_ingots.weigh(book, found, kg_of(kg))
        if what in ("dry", "cold"):
            return proof_entered(book, ("ingot", found.id), found.name, what, form)
        if what == "use":
            return book_ingots.use(
                book, found, kg_of(kg) if kg else None, form.get("text", ""), form.get("how", "used")
            )
        if what == "return":
            return _return(book, found, kg)
        if score := form.get("score", ""):
            return book_ingots.machined(book, found, int(score) if score in "12345" else 0, form.get("text", ""))
        return book_ingots.note(book, found, form.get("text", ""))

    return written(f"/ingots/{tree.label_name(name)[:30]}", write)


def _return(book: Book, found: Ingot, kg: str) -> str:
    lot_id = lots.lot_for_returns(book, found.name, melt_of(book, found.melt_id).alloy)
    said = book_ingots.return_as_scrap(book, found, kg_of(kg) if kg else None, lot_id)
    why = quarantine.state(book).why(Holder("lot", lot_id))
    return f"{said} It is lot {lots.lot_of(book, lot_id).code} now: dry it before it is charged. {why}".rstrip()


def _named(book: Book, name: str) -> Ingot:
    return book_ingots.ingot_of(book, tree.named(book, name, ("ingot",)).id)


def _no_such(why: str) -> Response:
    return page("metal", "missing.html", status=404, why=why)
