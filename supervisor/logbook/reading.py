"""Reading the log: every reader opens it read-only and briefly, fetches all it wants, and lets go.

A reader that stays would keep the write-ahead log from being folded into the file, and it would grow without end.
"""

import contextlib
import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from supervisor.logbook import database
from supervisor.logbook.backups import way_back
from supervisor.logbook.left_open import FOUND_OPEN, LeftOpen
from supervisor.logbook.place import is_being_written
from supervisor.logbook.read_only import connect_to_read, refuse_other_layouts
from supervisor.refusal import InputRefused

SAMPLE_COLUMNS = (
    "t_s",
    "hot_junction_c",
    "cold_junction_c",
    "setpoint_c",
    "duty",
    "energy_wh",
    "state",
    "inputs",
    "raw_word",
    "residual_k",
    "mean_c",
    "second_word",
    "quarters",
)

_SINCE_LAYOUT_3 = ("mean_c", "second_word", "quarters")


class Firing(NamedTuple):
    """One firing, as a list shows it."""

    id: int
    name: str
    heat_number: str | None
    profile: str
    furnace: str
    backend: str
    state: str  # complete, stopped, aborted, interrupted (no closing record), open (running now)
    first_cause: str | None
    started_utc: str  # ISO 8601
    started_utc_ms: int
    clock_confirmed: bool
    started_local_date: str
    utc_offset_min: int
    lasted_s: float | None
    peak_c: float | None
    energy_wh: float | None
    results: dict[str, Any]  # empty without a closing record


class Bucket(NamedTuple):
    """A strip's point: what the samples of one stretch of time say. All None: nothing was recorded, a gap."""

    t_s: float  # middle of the stretch, since the firing's start
    hot_junction_min_c: float | None
    hot_junction_mean_c: float | None
    hot_junction_max_c: float | None
    cold_junction_c: float | None
    setpoint_c: float | None
    duty: float | None
    energy_wh: float | None


class KeptModel(NamedTuple):
    """A model of the furnace as the log keeps it. It counts for this furnace as long as its parts are the same."""

    id: int
    firing_id: int | None  # the newest firing that it was learned from
    utc_ms: int  # adopted, or kept for somebody to decide
    adopted: bool
    takes: int | None  # row of the earlier model that this one is
    who: str
    sent_from: str
    note: str
    model: dict[str, Any]  # supervisor.model.learned.Model as JSON
    against: dict[str, Any]  # measured and modelled, for a picture


class Log:
    """The log of one data directory, while it is open for reading: see open_log."""

    def __init__(self, connection: sqlite3.Connection, path: Path) -> None:
        self._connection = connection
        self._path = path

    def firings(self, *, limit: int | None = None, before_id: int | None = None) -> list[Firing]:
        """Firings, the newest first."""
        rows = self.rows(
            "SELECT * FROM firings WHERE ?1 IS NULL OR id < ?1 ORDER BY id DESC LIMIT ?2",
            before_id,
            -1 if limit is None else limit,
        )
        written = is_being_written(self._path)
        return [_firing(row, written) for row in rows]

    def firing(self, firing: int | str) -> Firing:
        """One firing, by its number or its heat number.

        Raises:
            InputRefused: there is none.
        """
        by_number = isinstance(firing, int) or firing.isdecimal()
        column, value = ("id", min(int(firing), 1 << 31)) if by_number else ("heat_number", firing)  # above: none
        if found := self.rows(f"SELECT * FROM firings WHERE {column} = ?", value):
            return _firing(found[0], is_being_written(self._path))
        newest = self.next_firing_id() - 1
        kept = f"numbers go up to {newest}" if newest else "it holds no firing yet"
        raise InputRefused(f"There is no firing {firing} in {self._path}; {kept}.")

    def frozen(self, firing_id: int) -> dict[str, Any]:
        """What was frozen when a firing started: profile, charge, furnace digest, allowance, version."""
        row = self._connection.execute("SELECT frozen FROM firing WHERE id = ?", (firing_id,)).fetchone()
        return _object(row[0]) if row else {}

    def events(self, firing_id: int | None = None, *, limit: int | None = None) -> list[dict[str, Any]]:
        """What happened, oldest first: of one firing, or of all and between them."""
        return self._happened("event", firing_id, limit)

    def events_of(self, kind: str) -> list[dict[str, Any]]:
        """Every event of one kind, oldest first."""
        rows = self.rows("SELECT * FROM event WHERE kind = ? ORDER BY id", kind)
        return [{**dict(row), "detail": _object(row["detail"])} for row in rows]

    def alarms(self, firing_id: int | None = None, *, limit: int | None = None) -> list[dict[str, Any]]:
        """Every step in the life of the alarms, oldest first."""
        return self._happened("alarm", firing_id, limit)

    def commands(self, firing_id: int | None = None, *, limit: int | None = None) -> list[dict[str, Any]]:
        """Commands and their answers, oldest first."""
        return self._happened("command", firing_id, limit)

    def samples(self, firing_id: int, *, from_s: float = 0.0, to_s: float | None = None) -> list[sqlite3.Row]:
        """Samples of a stretch as they were recorded: columns of SAMPLE_COLUMNS."""
        old = self.layout < 3
        columns = [f"NULL AS {name}" if old and name in _SINCE_LAYOUT_3 else name for name in SAMPLE_COLUMNS[1:]]
        return self.rows(
            f"SELECT t_ms / 1000.0 AS t_s, {', '.join(columns)} FROM sample WHERE id BETWEEN ? AND ? ORDER BY id",
            *_keys(firing_id, from_s, to_s),
        )

    def minutes(self, firing_id: int) -> list[dict[str, Any]]:
        """The minute rows of a firing: least, mean and greatest temperatures, duty, energy."""
        rows = self.rows("SELECT * FROM minute WHERE id BETWEEN ? AND ? ORDER BY id", *_keys(firing_id, 0.0, None))
        return [dict(row) for row in rows]

    def strip(
        self, firing_id: int, *, points: int = 400, from_s: float = 0.0, to_s: float | None = None
    ) -> list[Bucket]:
        """At most `points` points of a firing's curve, made from the samples; a gap is a point without values."""
        first, last = _keys(firing_id, from_s, to_s)
        start_ms, end_ms = self._connection.execute(
            "SELECT (SELECT t_ms FROM sample WHERE id BETWEEN ?1 AND ?2 ORDER BY id LIMIT 1),"
            " (SELECT t_ms FROM sample WHERE id BETWEEN ?1 AND ?2 ORDER BY id DESC LIMIT 1)",
            (first, last),
        ).fetchone()
        if start_ms is None:
            return []
        # Rows come once a second, give or take a part of a cycle: two seconds a point at least, or gaps are made up.
        width_ms = max(2000, -(-(end_ms - start_ms + 1) // points))
        rows = self._connection.execute(
            "SELECT (t_ms - ?3) / ?4, min(hot_junction_c), avg(hot_junction_c), max(hot_junction_c),"
            " avg(cold_junction_c), avg(setpoint_c), avg(duty), max(energy_wh)"
            " FROM sample WHERE id BETWEEN ?1 AND ?2 GROUP BY 1",
            (first, last, start_ms, width_ms),
        ).fetchall()
        values = {row[0]: row[1:] for row in rows}
        nothing = (None,) * 7
        return [
            Bucket((start_ms + (number + 0.5) * width_ms) / 1000, *values.get(number, nothing))
            for number in range((end_ms - start_ms) // width_ms + 1)
        ]

    def estimates(self, firing_id: int) -> list[dict[str, Any]]:
        """What the supervisor made of the metal in a firing, minute by minute."""
        if not self._has_learned:
            return []
        rows = self.rows("SELECT * FROM estimate WHERE id BETWEEN ? AND ? ORDER BY id", *_keys(firing_id, 0.0, None))
        return [{**dict(row), "boost": bool(row["boost"])} for row in rows]

    def models(self, *, limit: int | None = None) -> list[KeptModel]:
        """Models of the furnace, the newest row first: those adopted, and those that wait for somebody to decide."""
        if not self._has_learned:
            return []
        columns = ", ".join(KeptModel._fields)
        rows = self.rows(f"SELECT {columns} FROM model ORDER BY id DESC LIMIT ?", -1 if limit is None else limit)
        return [
            KeptModel._make(row)._replace(
                adopted=bool(row["adopted"]), model=_object(row["model"]), against=_object(row["against"])
            )
            for row in rows
        ]

    @property
    def _has_learned(self) -> bool:
        """A log of the first layout has no such tables; its next supervisor adds them."""
        return self.layout >= 2

    @property
    def layout(self) -> int:
        """Of the file: an older one is read as it is."""
        (layout,) = self._connection.execute("PRAGMA user_version").fetchone()
        return int(layout)

    def left_open(self) -> list[LeftOpen]:
        """Firings without their closing record, oldest first. For the program that holds the lock, as it starts."""
        rows = self.rows(
            "SELECT f.id, f.name, f.heat_number, f.started_utc_ms, coalesce(s.t_ms, 0) AS last_t_ms, s.hot_junction_c,"
            " EXISTS (SELECT 1 FROM event e WHERE e.firing_id = f.id AND e.kind = ?) AS recorded"
            " FROM firing f LEFT JOIN sample s ON s.id = (SELECT max(l.id) FROM sample l"
            " WHERE l.id BETWEEN f.id << 32 AND (f.id << 32) | 4294967295) WHERE f.state IS NULL ORDER BY f.id",
            FOUND_OPEN,
        )
        return [LeftOpen._make(row)._replace(recorded=bool(row["recorded"])) for row in rows]

    def standing_alarms(self) -> list[dict[str, Any]]:
        """The last step of every alarm that was not reset, oldest first: what an earlier run may have left latched."""
        rows = self.rows(
            "SELECT * FROM alarm WHERE id IN (SELECT max(id) FROM alarm GROUP BY alarm) AND step != 'reset' ORDER BY id"
        )
        return [dict(row) for row in rows]

    def rows(self, sql: str, *values: Any) -> list[sqlite3.Row]:
        """Rows of a question in SQL, for those that one place alone asks."""
        return self._connection.execute(sql, values).fetchall()

    def kind(self) -> str:
        """What the directory was born as: simulated or real."""
        (kind,) = self._connection.execute("SELECT kind FROM identity").fetchone()
        return str(kind)

    def furnace(self) -> str:
        """Name of the furnace that the directory is bound to."""
        (furnace,) = self._connection.execute("SELECT furnace FROM identity").fetchone()
        return str(furnace)

    def next_firing_id(self) -> int:
        """The number that the next firing gets."""
        (newest,) = self._connection.execute("SELECT coalesce(max(id), 0) FROM firing").fetchone()
        return int(newest) + 1

    def _happened(self, table: str, firing_id: int | None, limit: int | None) -> list[dict[str, Any]]:
        rows = self.rows(
            f"SELECT * FROM (SELECT * FROM {table} WHERE ?1 IS NULL OR firing_id = ?1 ORDER BY id DESC LIMIT ?2)"
            " ORDER BY id",
            firing_id,
            -1 if limit is None else limit,
        )
        return [
            {key: _object(value) if key == "detail" else value for key, value in row.items()} for row in map(dict, rows)
        ]


@contextlib.contextmanager
def open_log(path: Path) -> Iterator[Log]:
    """Open the log of a data directory for reading; briefly, whether a supervisor runs or not.

    Raises:
        InputRefused: there is no log, it cannot be read, or newer software wrote it.
    """
    file = path / database.FILE_NAME
    if not file.is_file():
        raise InputRefused(f"There is no log in {path}: name the data directory with --data.")
    try:
        with contextlib.closing(connect_to_read(file)) as connection:
            refuse_other_layouts(connection, file)
            yield Log(connection, path)
    except database.UNREADABLE as error:
        raise InputRefused(f"{file} cannot be read: {error}. {way_back(path)}".rstrip()) from error


def _firing(row: sqlite3.Row, written: bool) -> Firing:
    values = dict(row)
    if values["state"] == "open" and not written:
        values["state"] = "interrupted"
    values["lasted_s"] = None if values["backend"] == "paper" and not values["lasted_s"] else values["lasted_s"]
    values["clock_confirmed"] = bool(values["clock_confirmed"])
    values["results"] = _object(values["results"]) if values["results"] else {}
    return Firing(**values)


def _object(text: str) -> dict[str, Any]:
    value: dict[str, Any] = json.loads(text)
    return value


def _keys(firing_id: int, from_s: float, to_s: float | None) -> tuple[int, int]:
    """First and last key of a stretch of a firing."""
    first = firing_id << 32
    last_ms = 0xFFFF_FFFF if to_s is None else min(0xFFFF_FFFF, max(0, int(to_s * 1000)))
    return first | min(0xFFFF_FFFF, max(0, int(from_s * 1000))), first | last_ms
