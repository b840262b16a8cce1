"""Whether the book of metal is as it was written: every row against its link in the chain."""

from pathlib import Path
from typing import NamedTuple

from supervisor.book.writing import FIRST, chained, link, read_book


class Verdict(NamedTuple):
    """What was found. fault: the first thing that is not as it was written; empty: all is."""

    rows: int  # that were looked at
    fault: str
    digest: str  # of the last link: only a copy of it kept elsewhere shows that a whole chain was made anew


def verify(path: Path) -> Verdict:
    """Go through the whole chain. path: `book.db`.

    Raises:
        InputRefused: it cannot be read.
    """
    with read_book(path) as book:
        tables = chained(book)
        before, count = FIRST, 0
        for number, table, row_id, digest in book.raw("SELECT id, table_name, row_id, digest FROM chain ORDER BY id"):
            count += 1
            name = f"row {row_id} of {table}"
            if number != count:
                return Verdict(count, f"link {count} of the chain is missing", before)
            if table not in tables:
                return Verdict(count, f"link {number} names the table {table!r}, which is none of the book's", before)
            found = book.raw(f"SELECT * FROM {table} WHERE id = ?", row_id)
            if not found:
                return Verdict(count, f"{name} is missing", before)
            if link(before, table, found[0]) != digest:
                return Verdict(count, f"{name} was altered, or its link was", before)
            before = digest
        for table in tables:
            stray = book.raw(
                f"SELECT min(id) FROM {table} WHERE id NOT IN (SELECT row_id FROM chain WHERE table_name = ?)", table
            )[0][0]
            if stray is not None:
                return Verdict(count, f"row {stray} of {table} was added without a link", before)
        return Verdict(count, book.damage(), before)
