"""Which rows of log and book belong to one firing and its melt: found by what points to what, for any table.

In the book a row points to another by a foreign key, or by a pair of columns that name a kind and a number. The melt
and its ingots take along whatever points to them; of lots, moulds and plans that they point to what describes these
comes with them, but not what else became of them. So a table that a later step adds is carried without new code.
"""

import contextlib
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path
from typing import Any, NamedTuple

from supervisor.book.writing import Book, chained, read_book
from supervisor.logbook import seals
from supervisor.logbook.read_only import connect_to_read

Node = tuple[str, int]

LIVES_ON = ("lot", "plan", "mould", "melt")
"""What has a life beside this melt: pointed to, but what points to it is not all of this melt's."""
DESCRIBED = ("lot", "plan", "mould")
OF_OTHERS = ("melt", "ingot", "movement", "plan_item", "in_firing")
"""Tables whose rows do not describe the lot, plan or mould that they point to, but use it."""
OF_A_PLAN = ("plan_item", "plan_mould")


class Table(NamedTuple):
    """Rows of one table in the order of their keys."""

    columns: list[str]
    rows: list[list[Any]]


def of_log(file: Path, firing_id: int) -> dict[str, Table]:
    """The rows of a firing in every table of the log, and the clock of its boot.

    Raises:
        sqlite3.Error: the log cannot be read.
    """
    found = {}
    first, last = firing_id << 32, firing_id << 32 | 0xFFFF_FFFF
    with contextlib.closing(connect_to_read(file)) as log:
        log.row_factory = None
        for table in seals.tables(log):
            columns = [row[1] for row in log.execute(f'PRAGMA table_info("{table}")')]
            if table == "firing":
                where, values = "id = ?", (firing_id,)
            elif table == "clock":
                where, values = "boot_id = (SELECT boot_id FROM firing WHERE id = ?)", (firing_id,)
            elif table in ("sample", "minute", "estimate"):
                where, values = "id BETWEEN ? AND ?", (first, last)  # type: ignore[assignment]
            elif "firing_id" in columns:
                where, values = "firing_id = ?", (firing_id,)
            else:
                continue
            rows = [list(row) for row in log.execute(f'SELECT * FROM "{table}" WHERE {where} ORDER BY id', values)]
            if rows:
                found[table] = Table(columns, rows)
    return found


def of_book(file: Path, heat_number: str | None, firing_id: int | None) -> dict[str, Table]:
    """The rows of a melt in every table of the book, and of what lay in a firing without metal.

    Raises:
        InputRefused: the book cannot be read.
    """
    with read_book(file) as book:
        web = _Web(book)
        roots = [("melt", row) for row, kept in web.rows["melt"].items() if kept["heat_number"] == heat_number]
        if firing_id is not None:
            roots.append(("firing", firing_id))
        chosen = web.belonging(roots)
        return {
            table: Table(web.columns[table], [list(web.rows[table][row].values()) for row in sorted(chosen[table])])
            for table in sorted(chosen)
        }


class _Web:
    """Every row of the book, and what points to what."""

    def __init__(self, book: Book) -> None:
        self.columns: dict[str, list[str]] = {}
        self.rows: dict[str, dict[int, dict[str, Any]]] = {}
        self._to: dict[Node, list[Node]] = defaultdict(list)
        self._from: dict[Node, list[Node]] = defaultdict(list)
        for table in chained(book):
            self.columns[table] = [str(row["name"]) for row in book.rows(f"PRAGMA table_info({table})")]
            self.rows[table] = {row["id"]: row for row in book.rows(f"SELECT * FROM {table} ORDER BY id")}
        for table in self.rows:
            keys = [(row["from"], row["table"]) for row in book.rows(f"PRAGMA foreign_key_list({table})")]
            self._join(table, keys)

    def _join(self, table: str, keys: list[tuple[str, str]]) -> None:
        pairs = [name.removesuffix("_kind") for name in self.columns[table] if name.endswith("_kind")]
        for row_id, row in self.rows[table].items():
            ends = [(target, row[column]) for column, target in keys]
            ends += [(row[f"{pair}_kind"], row[f"{pair}_id"]) for pair in pairs if f"{pair}_id" in row]
            if "firing_id" in row:
                ends.append(("firing", row["firing_id"]))
            for target, number in ends:
                if number is not None and (target in self.rows or target == "firing"):
                    self._to[table, row_id].append((target, number))
                    self._from[target, number].append((table, row_id))

    def belonging(self, roots: Iterable[Node]) -> dict[str, set[int]]:
        """Everything that belongs to these."""
        roots = list(roots)
        found, waiting = set(roots), list(roots)
        while waiting:
            node = waiting.pop()
            if node[0] in LIVES_ON and node not in roots:
                continue
            new = [each for each in self._from[node] if each not in found]
            found.update(new)
            waiting += new
        found = self._with_ends(found)
        for node in [each for each in found if each[0] in DESCRIBED]:
            found.update(
                each
                for each in self._from[node]
                if each[0] not in OF_OTHERS or (node[0] == "plan" and each[0] in OF_A_PLAN)
            )
        chosen: dict[str, set[int]] = defaultdict(set)
        for table, row_id in self._with_ends(found):
            if table != "firing" and row_id in self.rows[table]:
                chosen[table].add(row_id)
        return chosen

    def _with_ends(self, found: set[Node]) -> set[Node]:
        """With all that these point to, and what that points to."""
        waiting = list(found)
        while waiting:
            for end in self._to[waiting.pop()]:
                if end not in found:
                    found.add(end)
                    waiting.append(end)
        return found
