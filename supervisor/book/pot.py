"""What is in the pot: what people say of it after a melt, and what the next one finds there."""

from typing import NamedTuple

from supervisor.book.holders import left_kg, move
from supervisor.book.melts import Melt, happened, last, melt_of, melts, refuse_closed, write
from supervisor.book.proofs import ended
from supervisor.book.writing import Book
from supervisor.refusal import InputRefused

POT = ("drained", "heel", "charge stays")
"""What may be said of the pot: poured out, a heel left in it, or the whole charge still in it, unmelted."""


class InPot(NamedTuple):
    """Metal that is still in the pot from an earlier melt."""

    melt_id: int
    heat_number: str
    kg: float
    whole: bool  # the charge was never melted: it goes on under the next number
    why: str


def say(book: Book, found: Melt, what: str, kg: float | None = None) -> str:
    """Say what is in the pot after the melt: drained, a heel of so many kg, or the whole charge, never melted.

    Raises:
        InputRefused: it is none of these, or a heel without its mass, or more than is left of the melt.
    """
    if what not in POT:
        raise InputRefused(f"pot is {what[:40]!r}; allowed: {', '.join(POT)}")
    refuse_closed(book, found)
    left = left_kg(book, found.holder)
    if what == "charge stays":
        kg = left
    if what == "heel" and (kg is None or not 0.0 < kg <= left):
        raise InputRefused(
            f"heel_kg is {kg}; allowed: above 0, up to {left:.3f} kg, what is left of {found.heat_number}"
        )
    before = last(happened(book, found.id), "pot drained", "heel left")
    kind = "pot drained" if what == "drained" else "heel left"
    detail = {} if what == "drained" else {"kg": kg, "whole": what == "charge stays"}
    write(book, found, kind, before.id if before else None, **detail)
    if what == "drained":
        return f"Pot of {found.heat_number}: drained."
    return f"Pot of {found.heat_number}: {kg:.3f} kg stay in it; it goes into the next melt's balance."


def put_back(book: Book, found: Melt) -> str:
    """The charge was taken out of the pot unmelted: every part goes back to where it came from; a heel stays in it.

    Raises:
        InputRefused: something came out of it already, or nothing is left to take out.
    """
    out = book.one("SELECT to_kind, to_id FROM moves WHERE from_kind = 'melt' AND from_id = ? ORDER BY id", found.id)
    if out is not None and out["to_kind"] == "melt":
        then = melt_of(book, out["to_id"]).heat_number
        raise InputRefused(f"What was in {found.heat_number} went on as {then}: say it of that one.")
    if out is not None:
        raise InputRefused(f"Something came out of {found.heat_number} already: it was melted, or part of it was.")
    kg = _taken_out(book, found)
    if not kg:
        raise InputRefused(f"Nothing is in {found.heat_number}.")
    write(book, found, "put back", kg=kg)
    return f"The charge of {found.heat_number} is back where it came from."


def _taken_out(book: Book, found: Melt) -> float:
    """Everything of a charge back to where it came from, kg; of one that went on from an earlier melt, to its bins."""
    came = book.rows(
        "SELECT from_kind, from_id, kg FROM moves WHERE to_kind = 'melt' AND to_id = ? AND how <> 'put back'", found.id
    )
    for row in came:
        if row["from_kind"] != "outside":
            source = (row["from_kind"], row["from_id"])
            move(book, row["kg"], found.holder, source, "put back", melt_id=found.id)
            if row["from_kind"] != "melt":
                ended(book, source, "it came back from the pot")
            elif row["from_id"] == found.continues:
                _taken_out(book, melt_of(book, row["from_id"]))
    return float(sum(row["kg"] for row in came))


def in_the_pot(book: Book) -> InPot | None:
    """Metal of an earlier melt that nobody has said to be out of the pot; None: the pot was drained."""
    for found in melts(book):
        if found.backend == "paper":
            continue
        said = last(happened(book, found.id), "pot drained", "heel left", "put back")
        if said is not None and said.kind == "put back":
            continue  # a heel that it lay on is in there still
        if said is None or said.kind != "heel left":
            return None
        kg = min(float(said.detail["kg"]), left_kg(book, found.holder))
        if kg <= 0.0:
            return None
        whole = bool(said.detail["whole"])
        why = "its charge stayed in the pot, unmelted" if whole else "a heel was left in the pot"
        return InPot(found.id, found.heat_number, kg, whole, why)
    return None
