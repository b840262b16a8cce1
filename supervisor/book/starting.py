"""Whether the charge that is prepared may be started as the book has it now: things change between plan and start."""

from collections.abc import Iterator

from supervisor.book.holders import Holder as Of
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
    for part in _charged(book, row["id"]):
        if why := dryness.refusal(name_of(book, part), proof_of(book, part), now_ms):
            return f"{why} Take the charge out, dry it, and plan again."
    return ""


def dry_until_ms(book: Book, melt_id: int) -> int | None:
    """When the first proof of dryness in a charge ends; None: one is missing. A charge without lots has nothing wet."""
    ends = []
    for part in _charged(book, melt_id):
        proof = proof_of(book, part)
        if proof is None or proof.ended:
            return None
        ends.append(dryness.until_ms(proof))
    return min(ends, default=book.utc_ms + round(dryness.GOOD_FOR_H * 3_600_000))


_CHARGED = """
    WITH RECURSIVE went_on(id) AS (
        SELECT ? UNION SELECT m.continues FROM melt m JOIN went_on w ON m.id = w.id WHERE m.continues IS NOT NULL)
    SELECT DISTINCT from_kind, from_id FROM moves WHERE to_kind = 'melt' AND how = 'charge' AND to_id IN went_on"""


def _charged(book: Book, melt_id: int) -> Iterator[Of]:
    """Every lot and ingot that went into a charge, also under an earlier number, unmelted in the pot since."""
    for row in book.rows(_CHARGED, melt_id):
        yield row["from_kind"], row["from_id"]
