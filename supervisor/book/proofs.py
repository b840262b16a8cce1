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
STORED_COLD, MORE_CAME, SET_BACK = "stored cold", "other metal was put to it", "the clock was set back"
NEXT_ROWS = 200
"""So many entries after a proof are looked at for an earlier date: a clock that ran ahead is set before long."""


def proof_of(book: Book, holder: Holder) -> Proof | None:
    """The proof that a lot, ingot or mould is dry, written last whatever a clock said; None: there is none."""
    row = book.one(
        "SELECT p.id, p.utc_ms, p.to_utc_ms, p.held_c, p.held_s, (SELECT e.why FROM proof_end e WHERE e.proof_id = p.id"
        f" ORDER BY e.id LIMIT 1) AS ended FROM proof p WHERE p.holder_kind = ? AND p.holder_id = ? AND {COUNTS}"
        " ORDER BY p.id DESC LIMIT 1",
        *holder,
    )
    if row is None:
        return None
    ended = row["ended"]
    if not ended and _more_came(book, holder, row["id"], row["to_utc_ms"]):
        ended = MORE_CAME
    if not ended and _set_back(book, row["id"], row["utc_ms"]):
        ended = SET_BACK
    return Proof(row["to_utc_ms"], row["held_c"], row["held_s"], ended or "")


_LINK = "(SELECT c.id FROM chain c WHERE c.table_name = '{}' AND c.row_id = {})"


def _more_came(book: Book, holder: Holder, proof_id: int, since_utc_ms: int) -> bool:
    """Whether other metal was put to it after it was dried: by the clock, or written after the proof was."""
    sql = (
        "SELECT 1 FROM moves m WHERE to_kind = ? AND to_id = ? AND how IN ('returned', 'correction')"
        f" AND (utc_ms > ? OR {_LINK.format('movement', 'm.id')} > {_LINK.format('proof', '?')})"
    )
    return book.one(sql, *holder, since_utc_ms, proof_id) is not None


def _set_back(book: Book, proof_id: int, written_utc_ms: int) -> bool:
    """Whether what was written after a proof is dated before that: then the clock ran ahead, and its date is none."""
    row = book.one(f"SELECT {_LINK.format('proof', '?')} AS link", proof_id)
    first = 0 if row is None else int(row["link"] or 0)
    sql = (
        "SELECT 1 FROM chain c JOIN {0} r ON r.id = c.row_id AND c.table_name = '{0}'"
        " WHERE c.id > ? AND c.id <= ? AND r.utc_ms < ?"
    )
    latest_ms = written_utc_ms - CLOCK_GIVE_MS
    tables = ("movement", "plan", "proof")
    return any(book.one(sql.format(table), first, first + NEXT_ROWS, latest_ms) for table in tables)


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
