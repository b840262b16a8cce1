"""Photographs of lots and ingots: files by their digest beside the book, and a row of the ledger for each.

The file's name is the SHA-256 of its bytes, and the row that names it has its link in the chain: a picture that was
exchanged is found, as any other row is. Files are only added.
"""

from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

from supervisor.book.holders import Holder, name_of
from supervisor.book.jpeg import checked
from supervisor.book.writing import Book
from supervisor.refusal import InputRefused
from supervisor.whole_file import write_whole

FOLDER = "photographs"
"""In the data directory."""

MOST_OF_ONE = 24
MOST_IN_ALL = 5000
"""1.2 GB of a card at most (our choice)."""


class Photo(NamedTuple):
    """A photograph of something."""

    id: int
    file: str  # in the data directory
    sha256: str
    utc_ms: int
    who: str


def photos(book: Book, holder: Holder) -> list[Photo]:
    """The photographs of a lot or an ingot, the oldest first."""
    sql = "SELECT id, file, sha256, utc_ms, who FROM photo WHERE holder_kind = ? AND holder_id = ? ORDER BY id"
    return [Photo(**row) for row in book.rows(sql, *holder)]


def add(book: Book, data: Path, holder: Holder, picture: bytes) -> Photo:
    """Keep a photograph: the picture alone, whatever else came with it. data: the data directory.

    Raises:
        InputRefused: it is no picture that may be kept, there are too many, or it cannot be written.
    """
    found = checked(picture)
    digest = sha256(found.data).hexdigest()
    before = photos(book, holder)
    if any(each.sha256 == digest for each in before):
        raise InputRefused(f"{name_of(book, holder)} has this photograph already.")
    if len(before) >= MOST_OF_ONE:
        raise InputRefused(f"{name_of(book, holder)} has {len(before)} photographs; allowed: {MOST_OF_ONE}")
    count = book.one("SELECT count(DISTINCT sha256) AS n FROM photo")
    assert count is not None
    if count["n"] >= MOST_IN_ALL:
        raise InputRefused(f"There are {count['n']} photographs; allowed: {MOST_IN_ALL}")
    name = f"{FOLDER}/{digest}.jpg"
    _write(data / name, found.data)
    row = book.append("photo", holder_kind=holder[0], holder_id=holder[1], file=name, sha256=digest)
    return next(each for each in photos(book, holder) if each.id == row)


def _write(path: Path, data: bytes) -> None:
    """On the disk before the book names it."""
    if path.exists() and path.read_bytes() == data:
        return
    try:
        path.parent.mkdir(mode=0o750, exist_ok=True)
        write_whole(path, data)
    except OSError as error:
        raise InputRefused(f"The photograph cannot be written ({error.strerror}); nothing was kept.") from error


def files(book: Book) -> list[tuple[str, str]]:
    """Every file that the book names, with its digest: what a backup carries beside it."""
    rows = book.raw("SELECT DISTINCT file, sha256 FROM photo ORDER BY file")
    return [(str(row[0]), str(row[1])) for row in rows]


def faults(book: Book, data: Path) -> Iterator[str]:
    """What is missing or not as it was, a sentence each."""
    for name, digest in files(book):
        path = data / name
        if not path.is_file():
            yield f"{name} is missing"
        elif sha256(path.read_bytes()).hexdigest() != digest:
            yield f"{name} was altered"
