"""Lots: scrap is weighed in within seconds, and one lot is shown, mended, dried, weighed again."""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, Response, request

from supervisor.book import lots as book_lots
from supervisor.book import quarantine, tree
from supervisor.book.lots import Lot
from supervisor.book.pedigree import Pedigree
from supervisor.book.photos import photos
from supervisor.book.proofs import proof_of
from supervisor.book.schema import SHAPES, SURFACES
from supervisor.book.writing import Book
from supervisor.metal import dryness
from supervisor.metal.alloys import UNKNOWN, table
from supervisor.metal.composition import ALUMINIUM, SURENESS
from supervisor.metal.descent import Holder
from supervisor.metal.forms import FORMS
from supervisor.metal.item import ORIGINS
from supervisor.metal.masses import kg_of, kg_or_none_of
from supervisor.refusal import InputRefused
from web.asking import number
from web.metal import proof_entered, reading, written
from web.pages.show import last_answer, page
from web.parts import parts
from web.roles import looks, runs

lots = Blueprint("lots", __name__)

BY_ORIGIN = "by origin"
USUAL = ("6082", "6060", "A356.0", "A380.0", "5083")
"""Alloys with a button of their own; the rest are in the list."""

Form = Mapping[str, str]


@lots.get("/lots/new")
@looks
def new() -> Response:
    """Weigh scrap in."""
    return page(
        "metal",
        "weigh.html",
        forms={name: form.words for name, form in FORMS.items() if name != "ingot"},
        origins=ORIGINS,
        usual=USUAL,
        alloys=[name for name in table() if name not in USUAL],
        sure=SURENESS,
        surfaces=SURFACES,
        shapes=SHAPES,
        answer=last_answer(),
    )


@lots.post("/lots")
@runs
def add() -> Response:
    """Keep the lot; back to the scale for the next one."""
    form = request.form

    def write(book: Book) -> str:
        kg = kg_of(form.get("mass", ""))
        if not form.get("form"):
            raise InputRefused("Form is not chosen; allowed: one of the buttons")
        lot = book_lots.add(book, kg, form=form.get("form", ""), **_known(form))
        return f"{lot.code}: {lot.kg:.3f} kg of {lot.name}, taken for {lot.alloy}. Not dry until that is proved."

    return written("/lots/new", write)


@lots.get("/lots/<name>")
@looks
def show(name: str) -> Response:
    """One lot."""
    try:
        with reading() as book:
            lot = _lot(book, name)
            now_ms = parts().config.utc_ms()
            proof = proof_of(book, ("lot", lot.id))
            inside = Pedigree(book).of(Holder("lot", lot.id))
            why = quarantine.state(book).why(Holder("lot", lot.id))
            photographs = photos(book, ("lot", lot.id))
    except ValueError as problem:
        return page("metal", "missing.html", status=404, why=str(problem))
    return page(
        "metal",
        "lot.html",
        lot=lot,
        form=FORMS[lot.form].words,
        origin=ORIGINS.get(lot.origin, (lot.origin, "", "")),
        wet=dryness.refusal(lot.code, proof, now_ms),
        until_ms=None if proof is None else dryness.until_ms(proof),
        inside=inside,
        elements=[e for e in sorted(inside.high, key=lambda e: -inside.high[e]) if inside.high[e] >= 0.05],
        aluminium=ALUMINIUM,
        quarantine=why,
        photos=photographs,
        alloys=list(table()),
        sure=SURENESS,
        surfaces=SURFACES,
        shapes=SHAPES,
        answer=last_answer(),
    )


@lots.post("/lots/<name>/<what>")
@runs
def enter(name: str, what: str) -> Response:
    """Weigh it again, mend what is known of it, note that it was dried or stored cold."""
    form = request.form

    def write(book: Book) -> str:
        lot = _lot(book, name)
        if what == "weigh":
            return f"{lot.code}: {book_lots.weigh(book, lot.id, kg_or_none_of(form.get('mass', ''))).kg:.3f} kg."
        if what in ("dry", "cold"):
            return proof_entered(book, ("lot", lot.id), lot.code, what, form)
        if what == "describe":
            known = _known(form)
            book_lots.describe(book, lot.id, alloy=known.pop("alloy_name", lot.alloy), **known)
            return f"{lot.code} is mended; what was believed before stays on record."
        raise InputRefused(f"{what[:20]!r} is not known; allowed: weigh, dry, cold, describe")

    return written(f"/lots/{name[:20]}", write)


def _lot(book: Book, name: str) -> Lot:
    return book_lots.lot_of(book, tree.named(book, name, ("lot",)).id)


def _known(form: Form) -> dict[str, Any]:
    """What the form says of a lot; the alloy may be what its origin usually is, and then it is a guess."""
    known: dict[str, Any] = {
        field: form[field]
        for field in ("origin", "name", "certainty", "surface", "shape", "note")
        if form.get(field, "").strip()
    }
    alloy = form.get("alloy_other", "").strip() or form.get("alloy", "").strip()
    if alloy == BY_ORIGIN:
        known["alloy_name"] = ORIGINS.get(str(known.get("origin")), ("", UNKNOWN, ""))[1]
        known["certainty"] = "guess"
    elif alloy:
        known["alloy_name"] = alloy
    if form.get("longest_mm", "").strip():
        known["longest_mm"] = number(form, "longest_mm", "mm")
    return known
