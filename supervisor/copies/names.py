"""The names of people in what is kept: off by default in a record that goes out of the house.

Every name that log, book or contacts know stands as "person 1", "person 2" wherever it is written, also in remarks.
What a person wrote of somebody whom no list knows stays as it is: whoever sends a record on reads it first.
"""

import contextlib
import re
import sqlite3
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from supervisor.book.writing import FILE_NAME as BOOK
from supervisor.copies.rows import Table
from supervisor.trouble import OURS

COLUMNS = ("who", "maker")
"""Columns that hold names, in whatever table."""
STANDS_IN = re.compile(r"person \d+")
CURVES = ("sample", "minute", "estimate")
"""Tables without any words of people."""


def known(data: Path) -> set[str]:
    """The names of contacts and of paired phones, which no row of a melt names."""
    found: set[str] = set()
    with contextlib.suppress(OSError, ValueError):
        found |= set(_named(tomllib.loads((data / "alerts.toml").read_text(encoding="utf-8"))))
    with (
        contextlib.suppress(sqlite3.Error),
        contextlib.closing(sqlite3.connect(f"{(data / BOOK).resolve().as_uri()}?mode=ro", uri=True)) as book,
    ):
        found |= {str(name) for (name,) in book.execute("SELECT DISTINCT name FROM phone")}
    return found


def _named(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for name, each in value.items():
            if name == "name" and isinstance(each, str):
                yield each
            yield from _named(each)
    elif isinstance(value, list):
        for each in value:
            yield from _named(each)


def people(tables: Iterable[Mapping[str, Table]], known: Iterable[str]) -> list[str]:
    """Everybody who is named in these rows, and those whom the contacts and paired phones know, by the alphabet."""
    found = set(known)
    for each in tables:
        for table in each.values():
            places = [at for at, name in enumerate(table.columns) if name in COLUMNS]
            found |= {str(row[at]) for row in table.rows for at in places if row[at]}
    return sorted(name for name in found if _is_name(name))


def without(names: list[str], tables: Mapping[str, Table]) -> dict[str, Table]:
    """The rows with the names replaced."""
    numbers = {name.lower(): f"person {number}" for number, name in enumerate(names, 1)}
    if not names:
        return dict(tables)
    by_length = sorted(names, key=len, reverse=True)
    pattern = re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, by_length))})(?!\w)", re.IGNORECASE)

    def told(value: Any) -> Any:
        return pattern.sub(lambda found: numbers[found[0].lower()], value) if isinstance(value, str) else value

    return {
        name: table if name in CURVES else Table(table.columns, [[told(value) for value in row] for row in table.rows])
        for name, table in tables.items()
    }


def _is_name(name: str) -> bool:
    words = name.strip().lower().split()
    return bool(words) and not STANDS_IN.fullmatch(name.strip()) and not set(words) <= OURS
