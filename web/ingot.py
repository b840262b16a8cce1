"""What an ingot's page and its label show."""

from collections.abc import Sequence
from datetime import UTC, date, datetime
from typing import Any, NamedTuple

from supervisor.book import ingots, quarantine
from supervisor.book.ingots import Ingot
from supervisor.book.pedigree import Pedigree
from supervisor.book.tree import label_name
from supervisor.book.writing import Book
from supervisor.metal.composition import Composition
from web import qr
from web.shelf import Node, bin_words, flagged, near, path_of, tree

LEAST_SHOWN_PCT = 0.01
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


class Element(NamedTuple):
    """A line of the composition, wt%."""

    name: str
    likely: float | None  # None: nobody knows
    low: float
    high: float


class IngotPage(NamedTuple):
    """Everything that the page of one ingot shows."""

    ingot: Ingot
    near: str
    flagged: Sequence[str]
    elements: Sequence[Element]
    held: str  # why it is under quarantine; empty: it is not
    own: bool  # the quarantine was set on this very ingot
    came_from: Sequence[tuple[str, str, float, str]]  # name, how, kg, address
    family: Node
    noted: Sequence[dict[str, Any]]


class Label(NamedTuple):
    """What stands on a label of 62 by 29 mm."""

    name: str
    near: str
    kg: str
    cast_on: str
    status: str  # 'clear 18 Apr', 'QUARANTINE 18 Apr'
    address: str  # what the code says: the ingot's page, in capitals, which makes a coarser code
    picture: str  # the code as SVG
    real: bool  # false: a simulated furnace cast it, so that it does not exist


def ingot_page(book: Book, found: Ingot) -> IngotPage:
    """Read it."""
    held, pedigree = quarantine.state(book), Pedigree(book)
    composition = pedigree.of(found.holder)
    known = {each.holder: each for each in ingots.ingots(book)}
    reached = held.reached.get(found.holder)
    return IngotPage(
        found,
        near(composition),
        flagged(composition),
        _elements(composition),
        held.why(found.holder),
        reached is not None and reached.steps == 0,
        [
            (held.names[each.holder], each.how, each.kg, path_of(held, each.holder))
            for each in held.ledger.ancestors(found.holder)
        ],
        tree(held, found.holder, pedigree, known, bin_words(book)),
        ingots.events(book, found.id),
    )


def _elements(found: Composition) -> list[Element]:
    """What matters, the most first: likely, or possible where nobody knows; aluminium is the rest."""
    rows = [
        Element(name, found.likely.get(name), found.low[name], found.high[name]) for name in found.high if name != "Al"
    ]
    shown = [row for row in rows if (row.high if row.likely is None else row.likely) >= LEAST_SHOWN_PCT]
    return sorted(shown, key=lambda row: -(row.high if row.likely is None else row.likely))


def label_of(found: IngotPage, address: str, utc_ms: int) -> Label:
    """Its label as of today. address: where the pages are served, with the slash at its end."""
    today = datetime.fromtimestamp(utc_ms / 1000, UTC).astimezone().date()
    status = "QUARANTINE" if found.held else "clear"
    # Only capitals, digits and a few signs: QR codes pack them tighter, so that each square is larger.
    to = f"{address.rstrip('/')}/I/{label_name(found.ingot.name)}".upper()
    return Label(
        found.ingot.name,
        found.near,
        "not weighed" if found.ingot.cast_kg is None else f"{found.ingot.left_kg:.2f} kg",
        short_day(date.fromisoformat(found.ingot.local_date)),
        f"{status} {today.day} {MONTHS[today.month - 1]}",
        to,
        qr.for_a_label(to),
        found.ingot.backend != "simulated",
    )


def short_day(day: date) -> str:
    """A day as it fits on a label: 18 Apr 2026."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"
