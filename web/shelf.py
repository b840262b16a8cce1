"""What the page Metal shows: the shelf, the bins, and the family tree of every bad lot."""

from collections.abc import Sequence
from math import inf
from typing import NamedTuple

from supervisor.book import ingots, lots, quarantine
from supervisor.book.ingots import Ingot
from supervisor.book.lots import Lot
from supervisor.book.pedigree import Pedigree
from supervisor.book.quarantine import State
from supervisor.book.tree import label_name
from supervisor.book.writing import Book
from supervisor.metal.composition import Composition
from supervisor.metal.descent import Holder
from supervisor.metal.limits import nearest
from web.metal import count_word, number, sentence_case

FLAGGED = {"Pb": "lead", "Bi": "bismuth", "Sn": "tin"}
FLAGGED_PCT = 0.005
TREES_SHOWN = 6
ASKED_FOR = {"Cu": "copper", "Si": "silicon", "Mg": "magnesium"}
"""What people choose a bar by."""


class Node(NamedTuple):
    """A member of a family tree, as the page draws it."""

    name: str
    kind: str
    words: str
    held: bool  # under quarantine
    path: str  # of its own page; empty: it has none
    children: Sequence["Node"]


class OnShelf(NamedTuple):
    """A line of the shelf."""

    ingot: Ingot
    near: str
    held: str  # why it is under quarantine
    path: str


class InBin(NamedTuple):
    """A line of the bins."""

    lot: Lot
    held: str


class Metal(NamedTuple):
    """All that the page shows."""

    headline: str
    lead: str
    trees: Sequence[Node]
    shelf: Sequence[OnShelf]
    bins: Sequence[InBin]
    reasons: Sequence[str]
    most: Sequence[str]  # which ingot has most of what people choose a bar by

    @property
    def shelf_kg(self) -> float:
        """What the ingots on the shelf weigh."""
        return sum(row.ingot.left_kg for row in self.shelf)

    @property
    def bins_kg(self) -> float:
        """What the lots weigh."""
        return sum(row.lot.kg for row in self.bins)


def metal(book: Book) -> Metal:
    """Read it."""
    held, pedigree = quarantine.state(book), Pedigree(book)
    cast = ingots.ingots(book)
    shelf = [
        OnShelf(each, near(pedigree.of(each.holder)), held.why(each.holder), path_of(held, each.holder))
        for each in cast
        if not each.is_gone
    ]
    bins = [InBin(lot, held.why(Holder("lot", lot.id))) for lot in lots.lots(book)]
    sources = [reached.mark.holder for holder, reached in held.reached.items() if reached.mark.holder == holder]
    known = {each.holder: each for each in cast}
    words = bin_words(book)
    trees = [tree(held, source, pedigree, known, words) for source in sources[:TREES_SHOWN]]
    headline, lead = _verdict(held, cast, shelf, bins, len(sources))
    return Metal(headline, lead, trees, shelf, bins, [held.why(source) for source in sources], _most(shelf, pedigree))


def _most(shelf: Sequence[OnShelf], pedigree: Pedigree) -> list[str]:
    """A sentence for each element: 'Most copper: A-094/1, 2.12 ± 0.39 %, under quarantine'."""
    found = []
    for element, word in ASKED_FOR.items():
        likely = {row: pedigree.of(row.ingot.holder).likely.get(element, 0.0) for row in shelf}
        row = max(shelf, key=lambda each: likely[each], default=None)
        if row is not None and likely[row] > 0.0:
            give = pedigree.of(row.ingot.holder).give(element)
            held = ", under quarantine" if row.held else ""
            found.append(f"Most {word}: {row.ingot.name}, {likely[row]:.2f} ± {give:.2f} %{held}")
    return found


def _verdict(
    held: State, cast: Sequence[Ingot], shelf: Sequence[OnShelf], bins: Sequence[InBin], sources: int
) -> tuple[str, str]:
    bad = [each for each in cast if each.holder in held.reached]
    if sources:
        by_melt: dict[str, int] = {}
        for each in bad:
            by_melt[each.heat_number] = by_melt.get(each.heat_number, 0) + 1
        of = ", ".join(f"{count_word(count)} of {melt}" for melt, count in sorted(by_melt.items()))
        what = number(sources, "bad lot or ingot", "bad lots or ingots")
        reached = f" reached {number(len(bad), 'ingot')}: {of}" if bad else " reached no ingot"
        gone = sum(each.is_gone for each in bad)
        used = f", {number(gone, 'is', 'are')} used" if gone else ""
        on_shelf = f"{number(len(bad) - gone, 'is', 'are')} on the shelf{used}. " if bad else ""
        return (
            sentence_case(f"{what}{reached}."),
            sentence_case(f"{on_shelf}None of it can be charged until someone clears it."),
        )
    if not shelf and not bins:
        return "No metal yet.", "Weigh something in."
    kg = sum(row.ingot.left_kg for row in shelf)
    scrap_kg = sum(row.lot.kg for row in bins)
    return (
        sentence_case(f"{number(len(shelf), 'ingot')}, {kg:.2f} kg, and {scrap_kg:.2f} kg of scrap."),
        "Nothing is under quarantine.",
    )


def bin_words(book: Book) -> dict[int, str]:
    """What each lot is called, gone ones too."""
    return {lot.id: lot.name for lot in lots.lots(book, gone=True)}


def tree(held: State, root: Holder, pedigree: Pedigree, known: dict[Holder, Ingot], bins: dict[int, str]) -> Node:
    """The family of a holder, downwards; each member once, where it comes first. bins: see bin_words."""
    seen = {root}

    def node(holder: Holder, since: float) -> Node:
        children = []
        for child, from_then, _ in held.ledger.children(holder, since):
            if child not in seen:
                seen.add(child)
                children.append(node(child, from_then))
        return Node(
            held.names[holder],
            holder.kind,
            bins.get(holder.id, "") if holder.kind == "lot" else _words(holder, pedigree, known),
            holder in held.reached,
            path_of(held, holder),
            children,
        )

    return node(root, -inf)


def _words(holder: Holder, pedigree: Pedigree, known: dict[Holder, Ingot]) -> str:
    if holder in known:
        ingot = known[holder]
        return ingot.status if ingot.cast_kg is None else f"{ingot.cast_kg:.2f} kg, {ingot.status}"
    return "; ".join(flagged(pedigree.of(holder)))


def flagged(found: Composition) -> list[str]:
    """What spoils metal for ever, with its band: 'lead 0.15 ± 0.04 %'."""
    return [
        f"{word} {found.likely[element]:.2f} ± {found.give(element):.2f} %"
        for element, word in FLAGGED.items()
        if found.likely.get(element, 0.0) > FLAGGED_PCT
    ]


def near(found: Composition) -> str:
    """Which alloy of the table it is near, as estimated, and what of it is off; or that nobody can say."""
    close = nearest(found)
    if close is None:
        return "not known"
    if close.strange:
        return "no alloy of the table"
    off = ", ".join(dict.fromkeys(miss.element for miss in close.misses if not miss.perhaps))
    return f"{close.alloy.name}{f' but for {off}' if off else ''}"


def path_of(held: State, holder: Holder) -> str:
    """The address of a holder's own page."""
    name = held.names[holder]
    if holder.kind == "ingot":
        return f"/ingots/{label_name(name)}"
    return f"/melts/{name}" if holder.kind == "melt" else ""
