"""Adding metal to the pot: the lots are named and judged first; what went in is written down as what it was."""

from collections.abc import Sequence
from typing import Any, NamedTuple

from flask import Blueprint, Response, request

from supervisor.book import additions, ingots, lots, melts, tree
from supervisor.book.plans import Entry
from supervisor.book.writing import Book
from supervisor.metal.adding import Answer as Judged
from supervisor.metal.masses import kg_of
from supervisor.refusal import InputRefused
from web.access import who
from web.metal import kept, reading, writing
from web.pages.show import last_answer, page
from web.parts import parts
from web.planned import furnace_of
from web.pot import not_to_add
from web.replies import go_to
from web.roles import looks, runs

adding = Blueprint("adding", __name__)

ROWS = 3


class Named(NamedTuple):
    """What a person named, as typed: for the page that answers."""

    name: str
    kg: str


@adding.get("/add")
@looks
def show() -> Response:
    """What may be named, for the melt that runs."""
    return _page([], None, "")


@adding.post("/add")
@runs
def ask() -> Response:
    """May it go in? The answer is on this page; a 'do not add' is written into the record of the melt."""
    named = _named()
    try:
        with writing() as book:
            entries = _entries(book, named)
            found = melts.melt(book, heat) if (heat := _heat_number()) else None
            answer = additions.judge(book, entries, book.utc_ms, found=found, capacity_kg=_capacity_kg())
            if against := _against():
                answer = answer._replace(why=(against, *answer.why))
            if not answer.may and found is not None:
                additions.refuse(book, found, entries, answer)
    except ValueError as refused:
        return _page(named, None, str(refused), 400)
    return _page(named, answer, "")


@adding.post("/add/done")
@runs
def done() -> Response:
    """It is in: written into the book, and noted at the furnace with its mass."""
    named, added = _named(), list[additions.Added]()

    def write(book: Book) -> str:
        if (heat := _heat_number()) is None:
            note = "If it is in the pot all the same, note it on Furnace now: Metal went in, not named."
            raise InputRefused(f"{_against() or 'The melt has no number in the book.'} {note}")
        added.append(additions.write_down(book, melts.melt(book, heat), _entries(book, named), _capacity_kg()))
        return added[0].sentence

    answer = kept(write)
    if added and answer.kind == "accepted":
        note: dict[str, Any] = {"command": "note", "kind": "addition", "mass_kg": round(added[0].kg, 4)}
        note |= {"text": added[0].text[:500]}
        if (epoch := request.form.get("epoch", "")).isdecimal() and epoch.isascii() and len(epoch) < 12:
            note["epoch"] = int(epoch)
        told = parts().asking.ask(note, who())
        if told.kind != "accepted":
            sentence = f"{answer.sentence} The furnace did not take the note: {told.sentence}"
            answer = parts().asking.keep(told._replace(sentence=sentence))
    return go_to(f"/add?answer={answer.id}")


def _page(named: Sequence[Named], judged: Judged | None, refused: str, status: int = 200) -> Response:
    try:
        with reading() as book:
            choices = [(lot.code, f"{lot.name}, {lot.kg:.2f} kg") for lot in lots.lots(book)]
            choices += [
                (ingot.name, f"ingot, {ingot.left_kg:.2f} kg")
                for ingot in ingots.ingots(book)
                if ingot.cast_kg is not None and not ingot.is_gone
            ]
    except ValueError as problem:
        choices, refused = [], str(problem)
    rows = [*named, *[Named("", "")] * (ROWS - len(named))]
    return page(
        "now",
        "add.html",
        status=status,
        rows=rows,
        judged=judged,
        refused=refused,
        choices=choices,
        heat=_heat_number(),
        against=_against(),
        chamber_c=_chamber_c(),
        answer=last_answer(),
    )


def _named() -> list[Named]:
    pairs = zip(request.form.getlist("name"), request.form.getlist("kg"), strict=False)
    return [Named(name.strip()[:30], kg.strip()[:20]) for name, kg in pairs if name.strip() or kg.strip()][:ROWS]


def _entries(book: Book, named: Sequence[Named]) -> list[Entry]:
    return [Entry(tree.named(book, each.name, ("lot", "ingot")), kg_of(each.kg)) for each in named]


def _heat_number() -> str | None:
    """Of the firing that runs now, if metal may go into its pot."""
    moment = parts().feed.latest()
    if moment is None or _against():
        return None
    found = moment.snapshot["heat_number"]
    return None if found is None else str(found)


def _against() -> str:
    """What speaks against metal in the pot, whatever the metal is; empty: nothing."""
    moment = parts().feed.latest()
    if moment is None:
        return "The supervisor does not answer: whether a melt runs is not known."
    return not_to_add(moment.snapshot)


def _capacity_kg() -> float | None:
    """What the pot takes; None: nobody has told."""
    furnace = furnace_of(parts().feed.latest())
    return None if furnace is None else furnace.pot.capacity_kg


def _chamber_c() -> float | None:
    """What the chamber reads; None: nothing is read, or heard."""
    moment = parts().feed.latest()
    if moment is None or parts().feed.age_s(moment) > 10.0:
        return None
    found = moment.snapshot["hot_junction"]["c"]
    return None if found is None else float(found)
