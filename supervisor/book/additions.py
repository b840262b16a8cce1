"""Additions: each names its lots and masses, is judged by their proofs, and is written down as what it was.

Whether one was as it should be is told by the proofs at that moment, never by whoever enters it. What went in against
the answer is written down all the same: the metal is in the pot.
"""

from collections.abc import Sequence
from typing import NamedTuple

from supervisor.book import melts
from supervisor.book.holders import left_kg, move
from supervisor.book.melts import Melt
from supervisor.book.plans import Entry, items
from supervisor.book.writing import Book
from supervisor.metal.adding import Answer, may_be_added
from supervisor.refusal import InputRefused

MOST_NAMED = 10


class Added(NamedTuple):
    """An addition that is in the pot, as the book has it."""

    kg: float
    proved: bool
    text: str  # 'L-28 0.300 kg, L-30 0.200 kg'
    sentence: str


def judge(
    book: Book, entries: Sequence[Entry], now_ms: int, *, found: Melt | None = None, capacity_kg: float | None = None
) -> Answer:
    """May these go into the pot now? found: the melt that is in it. capacity_kg: of the pot; None: nobody knows.

    Raises:
        InputRefused: nothing is named, or more than anybody adds at once.
    """
    if not 0 < len(entries) <= MOST_NAMED:
        raise InputRefused(f"The addition names {len(entries)} lots; allowed: 1 to {MOST_NAMED}, each with its mass")
    if len({entry.holder for entry in entries}) < len(entries):
        raise InputRefused("A lot is named twice; allowed: each once, with all of its mass")
    room_kg = None if capacity_kg is None or found is None else capacity_kg - left_kg(book, found.holder)
    return may_be_added(items(book, entries)[-len(entries) :], room_kg, now_ms)


def refuse(book: Book, found: Melt, entries: Sequence[Entry], answer: Answer) -> None:
    """Write down that somebody asked and was told not to add."""
    melts.write(book, found, "addition refused", why=list(answer.why), named=_text(book, entries), went_in=False)


def write_down(book: Book, found: Melt, entries: Sequence[Entry], capacity_kg: float | None = None) -> Added:
    """Write down that it is in the pot. It is judged once more: a quarantine may have come between.

    Raises:
        InputRefused: nothing is named, or a lot does not hold so much.
    """
    answer = judge(book, entries, book.utc_ms, found=found, capacity_kg=capacity_kg)
    note = "proved" if answer.may else "not proved: " + " ".join(answer.why)
    named = _text(book, entries)
    for entry in entries:
        move(book, entry.kg, entry.holder, found.holder, "addition", melt_id=found.id, note=note[:500])
    if not answer.may:
        melts.write(book, found, "addition refused", why=list(answer.why), named=named, went_in=True)
    kg = sum(entry.kg for entry in entries)
    said = "proved dry, in date and clear" if answer.may else "against the answer 'do not add'; that is on record"
    return Added(kg, answer.may, named, f"{named} went into {found.heat_number}: {said}.")


def _text(book: Book, entries: Sequence[Entry]) -> str:
    return ", ".join(f"{item.name} {item.kg:.3f} kg" for item in items(book, entries)[-len(entries) :])
