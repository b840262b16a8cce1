"""The family tree of all metal as the book holds it, and the name of each of its members."""

from collections.abc import Collection, Iterable, Mapping

from supervisor.book.writing import Book
from supervisor.metal.descent import OUTSIDE, Holder, Ledger, Mark, Movement
from supervisor.refusal import InputRefused

KINDS = ("lot", "melt", "ingot")


def ledger(book: Book, melts: Collection[int] | None = None) -> Ledger:
    """Every movement that counts. One that was mended keeps the place of the first one in the order of the book.

    melts: rows of melts; only what went into them, and what came out of them, is wanted. None: all of it.
    """
    rows = book.raw(
        "SELECT id, utc_ms, from_kind, from_id, to_kind, to_id, kg, how, corrects, void FROM movement ORDER BY id"
    )
    mended = {row[0]: row[8] for row in rows if row[8] is not None}
    replaced = set(mended.values())
    return Ledger(
        Movement(
            _first(number, mended) if number in mended else number,
            utc_ms,
            OUTSIDE if source_id is None else Holder(source, source_id),
            OUTSIDE if target_id is None else Holder(target, target_id),
            kg,
            how,
        )
        for number, utc_ms, source, source_id, target, target_id, kg, how, _, void in rows
        if not void
        and number not in replaced
        and (melts is None or (source == "melt" and source_id in melts) or (target == "melt" and target_id in melts))
    )


def _first(row_id: int, mended: Mapping[int, int]) -> int:
    while row_id in mended:
        row_id = mended[row_id]
    return row_id


def marks(book: Book) -> list[Mark]:
    """Every quarantine that was set or lifted, oldest first."""
    rows = book.raw(
        "SELECT q.id, holder_kind, holder_id, utc_ms, quarantined, reason, who, coalesce((SELECT m.row_id FROM chain m"
        " WHERE m.table_name = 'movement' AND m.id < c.id ORDER BY m.row_id DESC LIMIT 1), 0)"
        " FROM quarantine q JOIN chain c ON c.table_name = 'quarantine' AND c.row_id = q.id ORDER BY q.id"
    )
    return [Mark(row[0], Holder(row[1], row[2]), row[3], bool(row[4]), *row[5:]) for row in rows]


def names(book: Book) -> dict[Holder, str]:
    """What each holder is called: 'L-31', 'A-094', 'A-094/2'."""
    found = {Holder("lot", row[0]): str(row[1]) for row in book.raw("SELECT id, code FROM lot")}
    found |= {Holder("melt", row[0]): str(row[1]) for row in book.raw("SELECT id, heat_number FROM melt")}
    found |= {
        Holder("ingot", row[0]): f"{row[1]}/{row[2]}"
        for row in book.raw("SELECT i.id, m.heat_number, i.number FROM ingot i JOIN melt m ON m.id = i.melt_id")
    }
    return found


def named(book: Book, name: str, kinds: Iterable[str] = KINDS) -> Holder:
    """The holder of a name, as people type it: case does not matter, and a label's 'A-094-2' is the ingot A-094/2.

    Raises:
        InputRefused: there is none of these kinds.
    """
    allowed = tuple(kinds)
    asked = name.strip().upper()
    known = {called.upper(): holder for holder, called in names(book).items() if holder.kind in allowed}
    found = known.get(asked) or known.get(_as_ingot(asked))
    if found is None:
        what = " or ".join(allowed)
        raise InputRefused(f"{name[:40]!r} is no {what} of this book; allowed: {_examples(known)}.")
    return found


def _as_ingot(asked: str) -> str:
    """A label's address has no slash in the name: the last dash of three parts stands for it."""
    parts = asked.split("-")
    return f"{'-'.join(parts[:-1])}/{parts[-1]}" if len(parts) == 3 else asked


def _examples(known: dict[str, Holder]) -> str:
    if not known:
        return "there is nothing of the kind yet"
    shown = sorted(known)[-3:]
    return ", ".join(shown) + (" and others" if len(known) > len(shown) else "")


def label_name(name: str) -> str:
    """An ingot's name as it stands in an address: 'A-094-2'."""
    return name.replace("/", "-")
