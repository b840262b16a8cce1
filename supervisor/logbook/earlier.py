"""What the log says of the run before this one: plain rows, for `aftermath` to judge. Asked once, at the start."""

import json
import sqlite3
from collections.abc import Sequence
from typing import Any, NamedTuple

from supervisor.logbook.left_open import LeftOpen
from supervisor.logbook.reading import Log
from supervisor.logbook.records import PAPER

TRUSTED = ("network", "rtc", "person", "simulated")
"""Qualities of a clock whose labels say how long something lasted."""

CUT = (None, "aborted", "interrupted")
"""How a firing stands in the log that had no proper end."""


class Moment(NamedTuple):
    """The last moment that the log knows of something: in process time of its boot, and UTC where that was trusted."""

    boot_id: str
    monotonic_ms: int
    utc_ms: int | None


class Metal(NamedTuple):
    """The last firing with a charge, and everything that heated the pot since."""

    firing_id: int
    frozen: dict[str, Any]
    state: str | None  # None: no closing record
    poured: bool
    was_liquid: bool  # the gate believed so
    unknown_added: bool
    found_solid: bool  # a later look was certain
    cut_short: bool  # metal of a firing without a proper end may be in the pot
    peak_c: float | None
    energy_wh: float
    findings: frozenset[str]  # watches that spoke in it
    no_reading: bool  # the last row has none
    end: Moment


class Earlier(NamedTuple):
    """All of it."""

    left: tuple[LeftOpen, ...]
    trips: tuple[dict[str, Any], ...]  # last step of every alarm that was not reset, and whether it was acknowledged
    aborts: tuple[dict[str, Any], ...]  # every abort that no reset followed, oldest first
    exception: dict[str, Any] | None  # of the newest firing left open
    supply_back_s: float | None  # how long the chain's supply was away in the newest firing, where it came back
    last: Moment | None  # of the newest firing
    last_c: float | None
    last_state: str
    last_name: str
    last_had_metal: bool
    metal: Metal | None
    to_prove: frozenset[str]
    latest_utc_ms: int  # ever recorded


def earlier_run(log: Log) -> Earlier:
    """Ask the log."""
    left = tuple(log.left_open())
    newest = _one(
        log,
        "SELECT id, name, heat_number, frozen, state FROM firing WHERE backend <> ? ORDER BY id DESC LIMIT 1",
        PAPER,
    )
    firing_id = 0 if newest is None else int(newest["id"])
    sample = _last_sample(log, firing_id)
    return Earlier(
        left=left,
        trips=tuple(_with_acknowledged(log, row) for row in log.standing_alarms()),
        aborts=_aborts(log),
        exception=_event(log, "exception", left[-1].firing_id) if left else None,
        supply_back_s=_supply_back_s(log, firing_id),
        last=None if newest is None else _end(log, firing_id),
        last_c=None if sample is None else sample["hot_junction_c"],
        last_state="" if sample is None else str(sample["state"]),
        last_name="" if newest is None else str(newest["heat_number"] or newest["name"]),
        last_had_metal=newest is not None and log.frozen(firing_id).get("charge") is not None,
        metal=_metal(log),
        to_prove=_to_prove(log),
        latest_utc_ms=latest_utc_ms(log),
    )


def latest_utc_ms(log: Log) -> int:
    """The latest UTC that the log ever wrote down, ms; dates count from it where the clock is behind it. 0: none."""
    columns = (("clock", "utc_ms"), ("event", "utc_ms"), ("alarm", "utc_ms"), ("command", "utc_ms"))
    asked = " UNION ALL ".join(f"SELECT max({column}) AS at FROM {table}" for table, column in columns)
    (row,) = log.rows(f"SELECT coalesce(max(at), 0) AS at FROM ({asked})")
    return int(row["at"])


def _one(log: Log, sql: str, *values: Any) -> dict[str, Any] | None:
    rows = log.rows(sql, *values)
    return dict(rows[0]) if rows else None


def _with_acknowledged(log: Log, row: dict[str, Any]) -> dict[str, Any]:
    """An acknowledgement counts for the time after it was last raised."""
    steps = log.rows("SELECT step FROM alarm WHERE alarm = ? ORDER BY id", row["alarm"])
    since_raised: list[str] = []
    for (step,) in steps:
        since_raised = [] if step == "raised" else [*since_raised, step]
    return {**row, "acknowledged": "acknowledged" in since_raised}


def _aborts(log: Log) -> tuple[dict[str, Any], ...]:
    """The aborts that were not followed by a reset which let everything go."""
    rows = log.rows(
        "SELECT * FROM event WHERE"
        " (kind = 'exception' OR (kind = 'state' AND json_extract(detail, '$.to') = 'aborting'))"
        " AND id > (SELECT coalesce(max(id), 0) FROM event WHERE kind = 'reset'"
        " AND coalesce(json_extract(detail, '$.still_latched'), 0) = 0) ORDER BY id",
    )
    return tuple({**dict(row), "detail": json.loads(row["detail"])} for row in rows)


def _event(log: Log, kind: str, firing_id: int) -> dict[str, Any] | None:
    sql = "SELECT * FROM event WHERE kind = ? AND firing_id = ? ORDER BY id DESC LIMIT 1"
    row = _one(log, sql, kind, firing_id)
    return None if row is None else {**row, "detail": json.loads(row["detail"])}


def _supply_back_s(log: Log, firing_id: int) -> float | None:
    row = _event(log, "supply back", firing_id)
    return None if row is None else float(row["detail"].get("after_s") or 0.0)


def _last_sample(log: Log, firing_id: int) -> dict[str, Any] | None:
    sql = "SELECT * FROM sample WHERE id BETWEEN ?1 << 32 AND (?1 << 32) | 4294967295 ORDER BY id DESC LIMIT 1"
    return _one(log, sql, firing_id)


def _end(log: Log, firing_id: int) -> Moment:
    """The last moment that is known of a firing: its closing record, else its last row of any kind."""
    row = _one(
        log,
        "SELECT boot_id, started_monotonic_ms, max(coalesce(closed_t_ms, 0),"
        " coalesce((SELECT max(s.t_ms) FROM sample s WHERE s.id BETWEEN f.id << 32 AND (f.id << 32) | 4294967295), 0),"
        " CASE WHEN closed_t_ms IS NULL THEN coalesce((SELECT max(e.t_ms) FROM event e WHERE e.firing_id = f.id"
        "  AND e.boot_id = f.boot_id), 0) ELSE 0 END) AS t_ms FROM firing f WHERE id = ?",
        firing_id,
    )
    assert row is not None  # the caller has its number from the log
    monotonic_ms = int(row["started_monotonic_ms"] + row["t_ms"])
    marks = ", ".join("?" * len(TRUSTED))
    clock = _one(
        log,
        f"SELECT utc_ms - monotonic_ms AS offset_ms FROM clock WHERE boot_id = ? AND quality IN ({marks})"
        " ORDER BY id DESC LIMIT 1",
        row["boot_id"],
        *TRUSTED,
    )
    return Moment(str(row["boot_id"]), monotonic_ms, None if clock is None else monotonic_ms + int(clock["offset_ms"]))


def _metal(log: Log) -> Metal | None:
    """Of the last firing with a charge, and of those before it whose metal may still be in the pot."""
    rows = log.rows(
        "SELECT id, state FROM firing WHERE json_extract(frozen, '$.charge') IS NOT NULL ORDER BY id DESC LIMIT 20"
    )
    if not rows:
        return None
    solid_id = _last_id(log, "kind = 'metal'")
    last, first = int(rows[0]["id"]), int(rows[0]["id"])
    for row in rows[1:]:
        older = int(row["id"])
        looked_into = _event(log, "pot", first) is not None
        frozen = solid_id > _last_id(log, f"firing_id = {older} AND json_extract(detail, '$.to') = 'running'")
        if looked_into or frozen or "pour" in _notes(log, older):
            break
        first = older
    newest = int(log.next_firing_id()) - 1
    liquid = log.rows(
        "SELECT 1 FROM event WHERE firing_id >= ? AND kind = 'gate' AND json_extract(detail, '$.\"may be liquid\"')",
        first,
    )
    raised = log.rows("SELECT DISTINCT watch FROM alarm WHERE firing_id >= ? AND step = 'raised'", first)
    peak, energy = _hottest(log, first, newest)
    sample = _last_sample(log, newest)
    return Metal(
        last,
        log.frozen(last),
        rows[0]["state"],
        "pour" in _notes(log, last),
        bool(liquid),
        any("addition" in _notes(log, int(row["id"])) for row in rows if int(row["id"]) >= first),
        _found_solid(log),
        _cut_short(log, rows),
        peak,
        energy,
        frozenset(str(each["watch"]) for each in raised),
        sample is not None and sample["hot_junction_c"] is None,
        _end(log, newest),
    )


def _cut_short(log: Log, rows: Sequence[sqlite3.Row]) -> bool:
    """One was cut short, and what came after it was only stopped: that has not emptied the pot. rows: newest first."""
    for row in rows:
        if row["state"] != "stopped":
            return row["state"] in CUT
        firing_id = int(row["id"])
        if "pour" in _notes(log, firing_id) or _event(log, "pot", firing_id) is not None:
            return False
    return False


def _notes(log: Log, firing_id: int) -> set[str]:
    """Kinds of what people noted in a firing."""
    rows = log.rows("SELECT detail FROM event WHERE firing_id = ? AND kind = 'note'", firing_id)
    return {str(json.loads(row["detail"]).get("kind")) for row in rows}


def _last_id(log: Log, where: str) -> int:
    (row,) = log.rows(f"SELECT coalesce(max(id), 0) AS id FROM event WHERE {where}")
    return int(row["id"])


def _hottest(log: Log, first: int, last: int) -> tuple[float | None, float]:
    """The hottest that reading or estimate were in these firings, °C, and the energy that went in, Wh."""
    row = _one(
        log,
        "SELECT max(hot_junction_c) AS hot, max(energy_wh) AS energy FROM sample"
        " WHERE id BETWEEN ?1 << 32 AND (?2 << 32) | 4294967295",
        first,
        last,
    )
    assert row is not None  # an aggregate has one row
    high = _one(
        log,
        "SELECT max(high_c) AS high FROM estimate WHERE id BETWEEN ?1 << 32 AND (?2 << 32) | 4294967295",
        first,
        last,
    )
    found = [c for c in (row["hot"], None if high is None else high["high"]) if c is not None]
    return max(found, default=None), float(row["energy"] or 0.0)


def _found_solid(log: Log) -> bool:
    """A look was certain that the metal was solid, and nothing heated since."""
    row = _one(
        log,
        "SELECT coalesce(max(CASE WHEN kind = 'metal' THEN id END), 0) AS solid,"
        " coalesce(max(CASE WHEN kind = 'state' AND json_extract(detail, '$.to') = 'running' THEN id END), 0) AS heated"
        " FROM event WHERE kind IN ('metal', 'state')",
    )
    return row is not None and row["solid"] > row["heated"]


def _to_prove(log: Log) -> frozenset[str]:
    """Parts that resets asked to prove, less what was proved since."""
    open_: set[str] = set()
    for row in log.rows(
        "SELECT kind, detail FROM event WHERE kind IN ('reset', 'proved')"
        " OR (kind = 'start test' AND json_extract(detail, '$.passed')) ORDER BY id"
    ):
        detail = json.loads(row["detail"])
        if row["kind"] == "reset":
            open_ |= set(detail.get("to_prove", ()))
        elif row["kind"] == "proved":
            open_.discard(str(detail.get("part")))
        else:
            open_ -= {"relay", "contactor"}
    return frozenset(open_)
