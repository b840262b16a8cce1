"""What pages wait for after years: 500 firings of six hours, each question asked with the page's own function.

The firings are copies of one, under other numbers and dates; their rows are put there by SQL, as fast as it goes, so
they have no seals. How fast seals are verified is measured on a log of its own.
"""

import contextlib
import sqlite3
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

from supervisor.book import phases, searching, years
from supervisor.book.paper import In, PaperMelt, enter
from supervisor.book.writing import FILE_NAME as BOOK
from supervisor.book.writing import Book, open_book, read_book
from supervisor.logbook.database import FILE_NAME
from supervisor.logbook.reading import Log, open_log
from supervisor.logbook.verifying import verify
from tests.benchmarks.figure import Figure
from tests.benchmarks.logbook_firing import BEGAN_UTC_MS, DAY_MS, END_MS, fired
from web import history, melted

LIMIT_MS = 50.0
ASKED = 10
KEYED = {"sample": "t_ms", "minute": "minute", "estimate": "t_ms"}


def figures(place: Path, *, firings: int, verified: int, tell: Callable[[str], None]) -> list[Figure]:
    """firings: so many in the log that is asked. verified: so many in the one that is verified."""
    tell(f"a log of {firings} firings")
    asked, whole = place / "years", place / "whole"
    fired(asked, 1)
    _copies(asked, firings)
    _fill_book(asked, firings)
    rows = [_asked(name, question, firings) for name, question in _questions(asked, firings).items()]
    tell(f"a log of {verified} firings, sealed")
    fired(whole, verified)
    return [*rows, _verified(whole)]


def _questions(data: Path, firings: int) -> dict[str, Callable[[], object]]:
    """What the pages ask, by the name of the figure: with files opened and closed, as they do it."""
    return {
        "list_ms": lambda: _of_both(data, lambda book, log: melted.lines(book, data, history.firings(data))),
        "search_ms": lambda: _of_both(
            data, lambda book, log: searching.search(book, log, searching.asked("gums 6082"))
        ),
        "strip_ms": lambda: history.strip(data, firings // 2 or 1),
        "compare_ms": lambda: _of_both(data, lambda book, log: phases.courses(log, log.firings(limit=5))),
        "trends_ms": lambda: _of_both(data, lambda book, log: years.trends(years.lines(book, log.firings()))),
    }


def _of_both(data: Path, ask: Callable[[Book, Log], object]) -> object:
    with open_log(data) as log, read_book(data / BOOK) as book:
        return ask(book, log)


def _fill_book(data: Path, firings: int) -> None:
    """A melt in the book for each firing: what went in, three ingots, dross, a remark."""
    with open_book(data / BOOK, who="somebody", sent_from="command line", utc_ms=BEGAN_UTC_MS) as book:
        for number in range(1, firings + 1):
            day = date(2024, 1, 1) + timedelta(days=number)
            note = "gums the cutter" if number % 50 == 0 else "clean, bright skin"
            masses = [0.45 + 0.001 * (number % 7)] * 3
            alloy = ("6082", "6060", "A356.0")[number % 3]
            one = PaperMelt(f"A-{number:03}", day, [In(1.5, alloy)], masses, 0.05, 180.0, 3100.0, "somebody", note)
            enter(book, "workshop", one)


def _asked(name: str, question: Callable[[], object], firings: int) -> Figure:
    question()
    took: list[float] = []
    own: list[float] = []
    for _ in range(ASKED):
        began_s, own_s = perf_counter(), process_time()
        question()
        took.append((perf_counter() - began_s) * 1000.0)
        own.append((process_time() - own_s) * 1000.0)
    own_ms = f"{median(own):.1f} ms of it the process's own time, which is fair on a busy machine"
    note = f"{firings} firings of 6 h, warm, median of {ASKED}; {own_ms}; baseline: the limit"
    return Figure(name, median(took), "ms", LIMIT_MS, note)


def _verified(whole: Path) -> Figure:
    began_s, own_s = perf_counter(), process_time()
    found = verify(whole)
    took_s, own_s = perf_counter() - began_s, process_time() - own_s
    assert not found.fault, found.fault
    own = f"{found.rows / own_s:.0f} a second of the process's own time"
    note = f"{found.rows} rows in {found.seals} seals, the database's own part included; {own}; baseline: the least"
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
