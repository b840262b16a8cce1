"""The digest of one firing in the furnace's log: kept in the closing record of its melt, and reckoned again to verify.

SHA-256 over the rows of each table in the order of their keys, each row a JSON list as SQLite returns it. Samples are
taken in stretches of ten minutes, so that an altered one is found to that stretch.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from typing import Any

from supervisor.logbook.reading import Log
from supervisor.logbook.verifying import SINCE_LAYOUT as SEALED_SINCE

STRETCH_MS = 600_000
HAPPENED = ("event", "alarm", "command")
SAMPLE = "id, hot_junction_c, cold_junction_c, setpoint_c, duty, energy_wh, inputs, state, raw_word, residual_k"
"""Columns that a log of any layout has; what a later one adds is not of the record."""

FIRING = (
    "id, name, heat_number, profile, furnace, backend, frozen, boot_id, started_monotonic_ms, started_utc_ms,"
    " clock_quality, closed_t_ms, closed_utc_ms, state, first_cause, results"
)


def firing_digest(log: Log, firing_id: int) -> dict[str, Any]:
    """Digests of one firing: `firing`, `events`, `alarms`, `commands`, and `samples`, one for each ten minutes."""
    found: dict[str, Any] = {"firing": _digest(log.rows(f"SELECT {FIRING} FROM firing WHERE id = ?", firing_id))}
    for table in HAPPENED:
        found[f"{table}s"] = _digest(log.rows(f"SELECT * FROM {table} WHERE firing_id = ? ORDER BY id", firing_id))
    stretches: dict[int, list[Any]] = {}
    first = firing_id << 32
    for row in log.rows(
        f"SELECT {SAMPLE} FROM sample WHERE id BETWEEN ? AND ? ORDER BY id", first, first | 0xFFFF_FFFF
    ):
        stretches.setdefault((row[0] & 0xFFFF_FFFF) // STRETCH_MS, []).append(row)
    found["samples"] = {str(at): _digest(rows) for at, rows in stretches.items()}
    return found


def newest_seal(log: Log) -> dict[str, Any]:
    """Number and digest of the log's last seal, for the closing record of a melt; empty in a log without seals."""
    if log.layout < SEALED_SINCE:
        return {}
    return {
        f"seal_{name}": row[name]
        for row in log.rows("SELECT id, digest FROM seal ORDER BY id DESC LIMIT 1")
        for name in ("id", "digest")
    }


def altered(log: Log, firing_id: int, kept: Mapping[str, Any]) -> str:
    """The first part of a firing that is not as it was when its melt was closed, in words; empty: all is.

    Events, alarms and commands that were added after the closing do not exist: a firing has ended before.
    """
    now = firing_digest(log, firing_id)
    for part in ("firing", *(f"{table}s" for table in HAPPENED)):
        if now[part] != kept.get(part):
            return f"its {part} {'is' if part == 'firing' else 'are'} not as they were"
    then, stretches = dict(kept.get("samples", {})), now["samples"]
    for at in sorted({*then, *stretches}, key=int):
        if then.get(at) != stretches.get(at):
            return f"its samples from minute {10 * int(at)} to {10 * int(at) + 10} are not as they were"
    return ""


def _digest(rows: Iterable[Any]) -> str:
    digest = hashlib.sha256()
    for row in rows:
        digest.update(json.dumps(list(row), ensure_ascii=False, separators=(",", ":")).encode())
        digest.update(b"\n")
    return digest.hexdigest()
