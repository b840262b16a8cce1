"""Proofs that something is dry: written down after an oven, read back with what ended them."""

from collections.abc import Sequence

from supervisor.book.holders import Holder, name_of
from supervisor.book.typed import text
from supervisor.book.writing import Book
from supervisor.metal.dryness import CLOCK_GIVE_MS, OVEN_LEAST_MIN, OVEN_MOST_C, Proof
from supervisor.metal.held import DRY_AT_C
from supervisor.refusal import InputRefused

LONGEST_MIN = 24 * 60

COUNTS = "(p.kind = 'dry' OR (p.kind = 'warm' AND p.holder_kind = 'mould'))"
"""A mould that was warmed through for the pour was held as hot and as long as one that was dried."""
STORED_COLD, MORE_CAME = "stored cold", "other metal was put to it"


def proof_of(book: Book, holder: Holder) -> Proof | None:
    """The proof that a lot, ingot or mould is dry, written last whatever a clock said; None: there is none."""
    row = book.one(
        "SELECT p.id, p.to_utc_ms, p.held_c, p.held_s, (SELECT e.why FROM proof_end e WHERE e.proof_id = p.id"
        f" ORDER BY e.id LIMIT 1) AS ended FROM proof p WHERE p.holder_kind = ? AND p.holder_id = ? AND {COUNTS}"
        " ORDER BY p.id DESC LIMIT 1",
        *holder,
    )
    if row is None:
        return None
    ended = row["ended"] or (MORE_CAME if _more_came(book, holder, row["id"], row["to_utc_ms"]) else "")
    return Proof(row["to_utc_ms"], row["held_c"], row["held_s"], ended)


def _more_came(book: Book, holder: Holder, proof_id: int, since_utc_ms: int) -> bool:
    """Whether other metal was put to it after it was dried: by the clock, or written after the proof was."""
    link = "(SELECT c.id FROM chain c WHERE c.table_name = '{}' AND c.row_id = {})"
    sql = (
        "SELECT 1 FROM moves m WHERE to_kind = ? AND to_id = ? AND how IN ('returned', 'correction')"
        f" AND (utc_ms > ? OR {link.format('movement', 'm.id')} > {link.format('proof', '?')})"
    )
    return book.one(sql, *holder, since_utc_ms, proof_id) is not None


def dried(
    book: Book,
    holders: Sequence[Holder],
    at_c: float,
    minutes: float,
    *,
    ended_utc_ms: int | None = None,
    note: str = "",
) -> None:
    """Write down that things were dried in an oven outside the furnace. ended_utc_ms: when they came out; now if None.

    Raises:
        InputRefused: too cool, too short, or dated where it cannot be.
    """
    if not DRY_AT_C <= at_c <= OVEN_MOST_C:
        raise InputRefused(f"at_c is {at_c:g}; allowed: {DRY_AT_C:g} to {OVEN_MOST_C:g} °C, which dries it")
    if not OVEN_LEAST_MIN <= minutes <= LONGEST_MIN:
        raise InputRefused(f"minutes is {minutes:g}; allowed: {OVEN_LEAST_MIN} to {LONGEST_MIN}, the pieces spread out")
    to_ms = book.utc_ms if ended_utc_ms is None else ended_utc_ms
    if not 0 < to_ms <= book.utc_ms + CLOCK_GIVE_MS:
        raise InputRefused("The drying ends later than now; allowed: the moment at which it came out of the oven")
    kept = text("note", note)
    for kind, holder_id in holders:
        book.append(
            "proof",
            holder_kind=kind,
            holder_id=holder_id,
            kind="dry",
            how="witnessed elsewhere",
            firing_id=None,
            held_c=at_c,
            held_s=60.0 * minutes,
            from_utc_ms=to_ms - round(60_000 * minutes),
            to_utc_ms=to_ms,
            note=kept,
        )


def stored_cold(book: Book, holder: Holder, why: str = STORED_COLD) -> None:
    """End the proof of something: it was stored cold, or got wet.

    Raises:
        InputRefused: it has no proof that still counts.
    """
    if not ended(book, holder, why):
        raise InputRefused(f"{name_of(book, holder)} has no proof of dryness that still counts.")


def ended(book: Book, holder: Holder, why: str) -> bool:
    """End the last proof of something, if there is one that counts: whether there was."""
    row = book.one(
        "SELECT p.id, EXISTS (SELECT 1 FROM proof_end e WHERE e.proof_id = p.id) AS ended FROM proof p"
        f" WHERE p.holder_kind = ? AND p.holder_id = ? AND {COUNTS} ORDER BY p.id DESC LIMIT 1",
        *holder,
    )
    if row is None or row["ended"]:
        return False
    book.append("proof_end", proof_id=row["id"], why=text("why", why) or STORED_COLD)
    return True
