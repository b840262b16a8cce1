"""Quarantine: metal that may not be charged until someone clears it, and all that holds some of it.

The reach is never stored: it is reckoned from the movements each time, so that a child that comes later is in it too.
"""

from collections.abc import Sequence
from typing import NamedTuple

from supervisor.book import tree
from supervisor.book.writing import Book
from supervisor.metal.descent import Holder, Ledger, Reached
from supervisor.refusal import InputRefused

LONGEST_REASON = 300


class State(NamedTuple):
    """What is under quarantine now."""

    ledger: Ledger
    reached: dict[Holder, Reached]
    names: dict[Holder, str]

    def why(self, holder: Holder) -> str:
        """Why a holder is under quarantine, in a sentence; empty: it is not."""
        found = self.reached.get(holder)
        if found is None:
            return ""
        name, source = self.names.get(holder, holder.kind), self.names.get(found.mark.holder, found.mark.holder.kind)
        if found.steps == 0:
            return f"{name} is under quarantine: {found.mark.reason}."
        return f"{name} is under quarantine: it holds metal of {source} ({found.mark.reason})."

    def children(self, holder: Holder) -> Sequence[Holder]:
        """All that holds metal of a holder and is under quarantine, nearest first."""
        return [each.holder for each in self.ledger.descendants(holder) if each.holder in self.reached]


class Touched(NamedTuple):
    """What a quarantine that was just set reaches."""

    holder: Holder
    name: str
    children: Sequence[str]  # names, nearest first
    plans: Sequence[str]  # codes of the plans that name such metal
    melts: Sequence[str]  # heat numbers that hold it


def state(book: Book) -> State:
    """What is under quarantine now."""
    ledger = tree.ledger(book)
    return State(ledger, ledger.reached(tree.marks(book)), tree.names(book))


def set_quarantine(book: Book, holder: Holder, reason: str) -> Touched:
    """Put a lot, melt or ingot under quarantine; what it reaches.

    Raises:
        InputRefused: no reason is given.
    """
    book.append("quarantine", holder_kind=holder.kind, holder_id=holder.id, quarantined=1, reason=_reason(reason))
    return touched(state(book), holder, book)


def clear(book: Book, holder: Holder, reason: str) -> str:
    """Clear a holder: it, and what comes of it alone, may be charged again; what is still reached, in a sentence.

    Raises:
        InputRefused: no reason is given, or it is not under quarantine.
    """
    before = state(book)
    if holder not in before.reached:
        raise InputRefused(f"{before.names[holder]} is not under quarantine.")
    book.append("quarantine", holder_kind=holder.kind, holder_id=holder.id, quarantined=0, reason=_reason(reason))
    after = state(book)
    if why := after.why(holder):
        return f"Cleared by itself, but {why}"
    return f"{before.names[holder]} is clear, with what comes of it alone."


def touched(found: State, holder: Holder, book: Book) -> Touched:
    """What the quarantine of a holder reaches: children, plans, melts."""
    reached = [holder, *found.children(holder)]
    plans = book.raw(
        "SELECT DISTINCT p.code, i.holder_kind, i.holder_id FROM plan_item i JOIN plan p ON p.id = i.plan_id"
        " WHERE p.version = (SELECT max(n.version) FROM plan n WHERE n.code = p.code)"
        " AND p.id NOT IN (SELECT plan_id FROM melt WHERE plan_id IS NOT NULL) ORDER BY p.code"
    )
    return Touched(
        holder,
        found.names[holder],
        [found.names[each] for each in reached[1:]],
        sorted({str(row[0]) for row in plans if Holder(row[1], row[2]) in reached}),
        [found.names[each] for each in reached if each.kind == "melt"],
    )


def sentences(found: Touched) -> list[str]:
    """What a quarantine reaches, for a person."""
    said = [f"{found.name} is under quarantine."]
    if found.children:
        said.append(f"It reaches {len(found.children)} more: {', '.join(found.children)}.")
    if found.plans:
        said.append(f"Plans that name such metal cannot be confirmed: {', '.join(found.plans)}.")
    return said


def _reason(reason: str) -> str:
    text = " ".join(reason.split())
    if not 0 < len(text) <= LONGEST_REASON:
        raise InputRefused(
            f"The reason has {len(text)} characters; allowed: 1 to {LONGEST_REASON}. Say what was found."
        )
    return text
