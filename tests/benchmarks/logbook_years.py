"""What pages wait for after years: 500 firings of six hours, each question asked with the page's own function.

The firings are copies of one, under other numbers and dates; their rows are put there by SQL, as fast as it goes, so
they have no seals. How fast seals are verified is measured on a log of its own.
"""

import contextlib
import sqlite3
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import perf_counter

from supervisor.logbook.database import FILE_NAME
from supervisor.logbook.verifying import verify
from tests.benchmarks.figure import Figure
from tests.benchmarks.logbook_firing import END_MS, fired

LIMIT_MS = 50.0
DAY_MS = 86_400_000
ASKED = 10
KEYED = {"sample": "t_ms", "minute": "minute", "estimate": "t_ms"}


def figures(place: Path, *, firings: int, verified: int, tell: Callable[[str], None]) -> list[Figure]:
    """firings: so many in the log that is asked. verified: so many in the one that is verified."""
    tell(f"a log of {firings} firings")
    years, whole = place / "years", place / "whole"
    fired(years, 1)
    _copies(years, firings)
    rows = [_asked(name, question, firings) for name, question in _questions(years, firings).items()]
    tell(f"a log of {verified} firings, sealed")
    fired(whole, verified)
    return [*rows, _verified(whole)]


def _questions(data: Path, firings: int) -> dict[str, Callable[[], object]]:
    """What the pages ask, by the name of the figure."""
    from web import history, melted

    def listed() -> object:
        from supervisor.book.writing import read_book

        with read_book(data / "book.db") as book:
            return melted.lines(book, data, history.firings(data))

    return {"list_ms": listed, "strip_ms": lambda: history.strip(data, firings // 2 or 1)}


def _asked(name: str, question: Callable[[], object], firings: int) -> Figure:
    question()
    took: list[float] = []
    for _ in range(ASKED):
        began_s = perf_counter()
        question()
        took.append((perf_counter() - began_s) * 1000.0)
    return Figure(
        name, median(took), "ms", LIMIT_MS, f"{firings} firings of 6 h, warm, median of {ASKED}; baseline: the limit"
    )


def _verified(whole: Path) -> Figure:
    began_s = perf_counter()
    found = verify(whole)
    took_s = perf_counter() - began_s
    assert not found.fault, found.fault
    note = f"{found.rows} rows in {found.seals} seals, the database's own part included; baseline: the least"
    return Figure("verify_rows_per_s", found.rows / took_s, "1/s", 100_000.0, note)


def _copies(data: Path, firings: int) -> None:
    """Firing 1 again and again, a day apart, its heat number counted on."""
    with contextlib.closing(sqlite3.connect(data / FILE_NAME, isolation_level=None)) as log:
        log.execute("PRAGMA synchronous = OFF")
        log.execute("BEGIN")
        numbers = "WITH RECURSIVE k (n) AS (SELECT 2 UNION ALL SELECT n + 1 FROM k WHERE n < ?)"
        columns = _columns(log, "firing")
        later_ms = f"{DAY_MS} * (n - 1)"
        changed = {
            "id": "n",
            "name": "printf('A-%03d', n)",
            "heat_number": "printf('A-%03d', n)",
            "started_utc_ms": f"started_utc_ms + {later_ms}",
            "closed_utc_ms": f"closed_utc_ms + {later_ms}",
            "started_local_date": f"date((started_utc_ms + {later_ms}) / 1000, 'unixepoch')",
            "results": "json_set(results, '$.energy_wh', 3000 + n % 97, '$.peak_c', 760 + n % 13)",
        }
        picked = ", ".join(changed.get(name, name) for name in columns)
        log.execute(
            f"{numbers} INSERT INTO firing SELECT {picked} FROM k, firing WHERE firing.id = 1", (max(firings, 2),)
        )
        for number in range(2, firings + 1):
            for table, at in KEYED.items():
                rest = ", ".join(_columns(log, table)[2:])
                log.execute(
                    f"INSERT INTO {table} SELECT ({number} << 32) | {at}, {number}, {rest} FROM {table}"
                    f" WHERE id BETWEEN 1 << 32 AND (1 << 32) | {END_MS}"
                )
            for table in ("event", "alarm", "command"):
                rest = ", ".join(_columns(log, table)[2:])
                log.execute(
                    f"INSERT INTO {table} (firing_id, {rest}) SELECT {number}, {rest} FROM {table} WHERE firing_id = 1"
                )
        log.execute("COMMIT")


def _columns(log: sqlite3.Connection, table: str) -> list[str]:
    return [name for (name,) in log.execute("SELECT name FROM pragma_table_info(?)", (table,))]
