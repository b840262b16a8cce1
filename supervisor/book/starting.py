"""Whether the charge that is prepared may be started as the book has it now: things change between plan and start."""

from supervisor.book.holders import name_of
from supervisor.book.proofs import proof_of
from supervisor.book.quarantine import state
from supervisor.book.writing import Book
from supervisor.metal import dryness
from supervisor.metal.descent import Holder


def refusal_to_start(book: Book, heat_number: str, now_ms: int) -> str:
    """Why a charge may not be heated now, in a sentence; empty: the book has nothing against it, or does not know it.

    Looked at again: quarantine of anything in it, and dryness of every lot and ingot that went in.
    """
    row = book.one("SELECT id FROM melt WHERE heat_number = ?", heat_number)
    if row is None:
        return ""
    held = state(book)
    if why := held.why(Holder("melt", row["id"])):
        return f"{why} Take it out of the pot: page Melts, {heat_number}."
    parts = book.rows(
        "SELECT DISTINCT from_kind, from_id FROM moves WHERE to_kind = 'melt' AND to_id = ? AND how = 'charge'",
        row["id"],
    )
    for part in parts:
        holder = (part["from_kind"], part["from_id"])
        if why := dryness.refusal(name_of(book, holder), proof_of(book, holder), now_ms):
            return f"{why} Take the charge out, dry it, and plan again."
    return ""
