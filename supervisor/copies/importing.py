"""Reading the record of a melt back into an archive: a data directory of its own, which every command reads.

An archive is never a furnace's log: it has no identity beside it, so that a supervisor that is pointed at it by mistake
takes the past for unknown.
"""

import base64
import json
import sqlite3
from collections.abc import Callable, Iterable
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from supervisor.book.writing import FILE_NAME as BOOK
from supervisor.book.writing import Book, open_book
from supervisor.copies.archive import FILE, listed
from supervisor.copies.record import Record, from_json
from supervisor.copies.rows import Table
from supervisor.example import mark
from supervisor.logbook.database import FILE_NAME as LOG
from supervisor.logbook.directory import IDENTITY_FILE, open_directory
from supervisor.logbook.seals import sealed
from supervisor.refusal import InputRefused

EMBEDDED = "record"
"""Id of the element of a page in which its record stands."""


def read_file(file: Path) -> Record:
    """Read the record in a JSON file, or in a page made of one.

    Raises:
        InputRefused: it cannot be read, or is no whole record.
    """
    try:
        text = file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InputRefused(f"{file} cannot be read: {error}.") from error
    if text.lstrip().startswith("<"):
        page = _Page()
        page.feed(text)
        text = "".join(page.found)
    return from_json(text, str(file))


def read_in(found: Record, archive: Path, *, utc_ms: int) -> bool:
    """Put a record into an archive, made where there is none; false: it was there already.

    Raises:
        InputRefused: the directory is a furnace's own, or of another furnace, or holds other rows under the same keys.
    """
    known = listed(archive)
    if known is None and (archive / LOG).exists():
        raise InputRefused(f"{archive} is a furnace's own data directory; name one of its own for what is read in.")
    try:
        with open_directory(archive, backend=found.kind, furnace=found.furnace) as directory:
            connection = replace(directory, past=None).begin(boot_id="archive", utc_ms=utc_ms)
            try:
                new = _add_all(found, connection, archive / BOOK, utc_ms)
            finally:
                connection.close()
    finally:
        (archive / IDENTITY_FILE).unlink(missing_ok=True)
    _write_files(found, archive, utc_ms)
    name = found.heat_number or str(found.firing)
    of_it = {"digest": found.digest, "names": found.names, "composition": found.composition}
    told = {**(known or {}), name: of_it}
    (archive / FILE).write_text(json.dumps(told, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    return new


def _add_all(found: Record, connection: sqlite3.Connection, book_file: Path, utc_ms: int) -> bool:
    """Both files or neither; whether anything was new."""
    try:
        with sealed(connection), open_book(book_file, who="archive", sent_from="import", utc_ms=utc_ms) as book:
            connection.execute("PRAGMA defer_foreign_keys = ON")

            def to_log(table: str, row: dict[str, Any]) -> None:
                marks = ", ".join("?" * len(row))
                names = ", ".join(f'"{name}"' for name in row)
                connection.execute(f'INSERT INTO "{table}" ({names}) VALUES ({marks})', list(row.values()))

            def log_rows(sql: str, *values: Any) -> list[Any]:
                return connection.execute(sql, values).fetchall()

            firing_first = sorted(found.log.items(), key=lambda item: item[0] != "firing")
            added = _add(firing_first, log_rows, to_log)
            return _add_to_book(found, book) or added
    except (sqlite3.Error, OverflowError) as error:
        raise InputRefused(f"The record cannot be read in here ({error}); nothing was.") from error


def _add_to_book(found: Record, book: Book) -> bool:
    book.rows("PRAGMA defer_foreign_keys = ON")
    return _add(found.book.items(), book.raw, lambda table, row: _append(book, table, row))


def _append(book: Book, table: str, row: dict[str, Any]) -> None:
    book.append(table, **row)


def _add(
    tables: Iterable[tuple[str, Table]],
    rows: Callable[..., list[Any]],
    add: Callable[[str, dict[str, Any]], None],
) -> bool:
    """Add what is not there; what is there has to be the same."""
    added = False
    for table, (columns, kept) in tables:
        if not table.isidentifier() or not all(name.isidentifier() for name in columns) or "id" not in columns:
            raise InputRefused(f"The record names a table {table!r} that cannot be one of ours; nothing was read in.")
        picked, at = ", ".join(f'"{name}"' for name in columns), columns.index("id")
        for row in kept:
            there = rows(f'SELECT {picked} FROM "{table}" WHERE id = ?', row[at])
            if there and list(there[0]) != row:
                raise InputRefused(f"Row {row[at]} of {table} is in the archive already, and is another one there.")
            if not there:
                add(table, dict(zip(columns, row, strict=True)))
                added = True
    return added


def _write_files(found: Record, archive: Path, utc_ms: int) -> None:
    for name, content in found.files.items():
        file = (archive / name).resolve()
        if file.is_relative_to(archive.resolve()):
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(base64.b64decode(content))
    if found.invented:
        mark.write(archive, mark.Marked(utc_ms, 1, 1))


class _Page(HTMLParser):
    """Takes the text of one element out of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._inside = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Begin where the record begins."""
        self._inside = self._inside or dict(attrs).get("id") == EMBEDDED

    def handle_endtag(self, tag: str) -> None:
        """Nothing stands inside the record: it ends with its element."""
        self._inside = False

    def handle_data(self, data: str) -> None:
        """Keep what stands inside."""
        if self._inside:
            self.found.append(data)
