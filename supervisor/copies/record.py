"""The record of one melt as a thing of its own: every row of it in plain JSON, and a digest over all of them.

It needs nothing of this program to be read: names of tables, names of columns with their units, rows.
"""

import base64
import contextlib
import hashlib
import json
from collections.abc import Iterable
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import NamedTuple

from supervisor.book.pedigree import Pedigree
from supervisor.book.writing import FILE_NAME as BOOK
from supervisor.book.writing import read_book
from supervisor.copies import names
from supervisor.copies.archive import listed
from supervisor.copies.rows import Table, of_book, of_log
from supervisor.example import mark
from supervisor.logbook.database import FILE_NAME as LOG
from supervisor.logbook.database import LAYOUT
from supervisor.logbook.reading import open_log
from supervisor.metal.descent import Holder
from supervisor.refusal import InputRefused

FORMAT = "meltkeeper record of a melt"
VERSION = 1

_CANONICAL = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), sort_keys=True).encode
_PLAIN = json.JSONEncoder(ensure_ascii=False).encode


class Record(NamedTuple):
    """One firing, and its melt where it had metal."""

    heat_number: str | None
    firing: int
    furnace: str
    kind: str  # simulated, real
    invented: bool
    names: str  # kept, replaced
    layout: int  # of the log that it came from
    exported_utc: str
    software: str
    log: dict[str, Table]
    book: dict[str, Table]
    files: dict[str, str]  # photographs by name, base64
    composition: dict[str, list[float | None]]  # likely, least, most of each element, %: estimated, not tested

    @property
    def digest(self) -> str:
        """SHA-256 over whose it is and every row, hex. What is only said beside the rows is not in it."""
        whose = [self.heat_number, self.firing, self.furnace, self.kind, self.names]
        rows = [{name: list(table) for name, table in tables.items()} for tables in (self.log, self.book)]
        return hashlib.sha256(_CANONICAL([whose, *rows]).encode("utf-8", "surrogatepass")).hexdigest()


def record(data: Path, firing: str, *, with_names: bool, known: Iterable[str], utc_ms: int) -> Record:
    """Gather the record of a firing. firing: its number or heat number. known: names of people that no row names.

    Raises:
        InputRefused: there is no such firing, or log or book cannot be read.
    """
    with open_log(data) as log:
        found = log.firing(firing)
        kind, furnace, layout = log.kind(), log.furnace(), log.layout
    of_the_log = of_log(data / LOG, found.id)
    of_the_book = of_book(data / BOOK, found.heat_number, found.id)
    files = _photographs(data, of_the_book.get("photo"))
    if not with_names:
        people = names.people((of_the_log, of_the_book), known)
        of_the_log, of_the_book = names.without(people, of_the_log), names.without(people, of_the_book)
    return Record(
        found.heat_number,
        found.id,
        furnace,
        kind,
        mark.read(data) is not None,
        "kept" if with_names else "replaced",
        layout,
        f"{datetime.fromtimestamp(utc_ms / 1000, UTC):%Y-%m-%dT%H:%M:%SZ}",
        version("meltkeeper"),
        of_the_log,
        of_the_book,
        files,
        _likely(data, found.heat_number),
    )


def as_json(of: Record) -> str:
    """The record as JSON text, one row a line."""
    head = {"format": FORMAT, "version": VERSION, **of._asdict(), "digest": of.digest}
    tables = {part: head.pop(part) for part in ("log", "book")}
    lines = [f" {_PLAIN(name)}: {_PLAIN(value)}" for name, value in head.items()]
    lines += [f" {_PLAIN(part)}: {_tables(tables[part])}" for part in tables]
    return "{\n" + ",\n".join(lines) + "\n}\n"


def from_json(text: str, name: str) -> Record:
    """Read a record back. name: of the file, for the sentence of a refusal.

    Raises:
        InputRefused: it is no record, newer software wrote it, or it is not as it was written.
    """
    try:
        kept = json.loads(text)
        is_ours = kept["format"] == FORMAT
    except (ValueError, KeyError, TypeError) as error:
        raise InputRefused(f"{name} is no record of a melt that this program wrote.") from error
    if not is_ours or kept["version"] != VERSION or kept["layout"] > LAYOUT:
        raise InputRefused(f"{name} is a record of another kind, or of a newer meltkeeper; allowed: layout {LAYOUT}.")
    try:
        tables = {part: {each: Table(**table) for each, table in kept[part].items()} for part in ("log", "book")}
        found = Record._make(tables[field] if field in tables else kept[field] for field in Record._fields)
        whole = found.digest == kept["digest"]
    except (KeyError, TypeError, AttributeError, ValueError) as error:
        raise InputRefused(f"{name} is damaged ({error}).") from error
    if not whole:
        raise InputRefused(f"{name} is not as it was written: its rows do not give its digest.")
    return found


def _likely(data: Path, heat_number: str | None) -> dict[str, list[float | None]]:
    """What is likely in a melt's metal. An archive has it from the record: it lacks what older metal came from."""
    if (known := listed(data)) is not None:
        of_it: dict[str, list[float | None]] = known.get(heat_number or "", {}).get("composition", {})
        return of_it
    with read_book(data / BOOK) as book:
        row = book.one("SELECT id FROM melt WHERE heat_number = ?", heat_number)
        if row is None:
            return {}
        found = Pedigree(book).of(Holder("melt", row["id"]))
    return {each: [found.likely.get(each), found.low[each], found.high[each]] for each in found.high}


def _tables(tables: dict[str, Table]) -> str:
    told = []
    for name, table in tables.items():
        rows = ",\n".join(f"   {_PLAIN(row)}" for row in table.rows)
        told.append(f'  {_PLAIN(name)}: {{"columns": {_PLAIN(table.columns)}, "rows": [\n{rows}\n  ]}}')
    return "{\n" + ",\n".join(told) + "\n }"


def _photographs(data: Path, table: Table | None) -> dict[str, str]:
    """The photographs that the rows name, as far as they are there."""
    found: dict[str, str] = {}
    for row in table.rows if table is not None else ():
        file = (data / str(row[table.columns.index("file")])).resolve() if table is not None else data
        if file.is_relative_to(data.resolve()):
            with contextlib.suppress(OSError):
                found[str(file.relative_to(data.resolve()))] = base64.b64encode(file.read_bytes()).decode()
    return found
