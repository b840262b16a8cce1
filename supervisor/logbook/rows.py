"""From a record to the statements that write it. Pure: no clock, no connection."""

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from enum import Enum
from math import isfinite
from typing import Any, NamedTuple

from supervisor.logbook.records import (
    AlarmRow,
    CommandRow,
    EstimateRow,
    EventRow,
    FiringClosed,
    FiringOpened,
    ModelRow,
    PartRow,
    ProofRow,
    SampleRow,
)

MINUTE_MS = 60_000

PLAIN = (type(None), bool, int, str)


class Statement(NamedTuple):
    """One row on its way to the log."""

    sql: str
    values: tuple[Any, ...]


class Stamp(NamedTuple):
    """What the scribe adds to a record."""

    boot_id: str
    utc_ms: int  # as believed now
    quality: str  # of that belief
    furnace: str


SAMPLE = (
    "INSERT INTO sample (id, firing_id, t_ms, hot_junction_c, cold_junction_c, setpoint_c, duty, energy_wh, inputs,"
    " state, raw_word, residual_k, mean_c, second_word, quarters) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)

ESTIMATE = (
    "INSERT INTO estimate (id, firing_id, t_ms, phase, metal_c, low_c, high_c, share_low, share_molten, share_high,"
    " minutes_low, minutes_likely, minutes_high, boost, why, setpoint_c, doubt)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)

MODEL = (
    "INSERT INTO model (firing_id, utc_ms, boot_id, adopted, takes, who, sent_from, model, against, note)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)

PROOF = (
    "INSERT INTO proof (firing_id, utc_ms, boot_id, proof, result, witnessed, about, evidence, who, sent_from,"
    " after_part) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)

PART = "INSERT INTO part (utc_ms, boot_id, part, note, who, sent_from, after_firing) VALUES (?, ?, ?, ?, ?, ?, ?)"

OPEN = (
    "INSERT INTO firing (id, name, heat_number, profile, furnace, backend, frozen, boot_id, started_monotonic_ms,"
    " started_utc_ms, clock_quality, started_local_date, utc_offset_min) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)

CLOSE = "UPDATE firing SET closed_t_ms = ?, closed_utc_ms = ?, state = ?, first_cause = ?, results = ? WHERE id = ?"

EVENT = (
    "INSERT INTO event (firing_id, t_ms, utc_ms, boot_id, kind, who, sent_from, detail) VALUES (?, ?, ?, ?, ?, ?, ?, ?)"
)

ALARM = (
    "INSERT INTO alarm (firing_id, t_ms, utc_ms, boot_id, alarm, watch, step, priority, evidence, first_out, who)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)

COMMAND = (
    "INSERT INTO command (firing_id, t_ms, utc_ms, boot_id, command_id, kind, who, sent_from, accepted, sentence,"
    " detail) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)

CLOCK = "INSERT INTO clock (boot_id, monotonic_ms, utc_ms, quality, reason) VALUES (?, ?, ?, ?, ?)"

# Made from the rows on disk, so that it holds after a restart too. Values: firing, end of the last minute, ms.
# The duty of a row is the mean since the row before, so it weighs as long as that; a minute's first row weighs 1 s.
MINUTES = """
    INSERT INTO minute (id, firing_id, minute, samples, readings, hot_junction_min_c, hot_junction_mean_c,
                        hot_junction_max_c, cold_junction_mean_c, setpoint_mean_c, duty_mean, energy_wh)
    SELECT (?1 << 32) | minute, ?1, minute, count(*), count(hot_junction_c), min(hot_junction_c), avg(hot_junction_c),
           max(hot_junction_c), avg(cold_junction_c), avg(setpoint_c),
           sum(duty * since_ms) / sum(since_ms), max(energy_wh)
    FROM (SELECT t_ms / 60000 AS minute, hot_junction_c, cold_junction_c, setpoint_c, duty, energy_wh,
                 t_ms - lag(t_ms, 1, t_ms - 1000) OVER (ORDER BY id) AS since_ms
          FROM sample
          WHERE id < (?1 << 32) + ?2 AND id >= (?1 << 32) + 60000 * coalesce(
              (SELECT max(minute) + 1 FROM minute WHERE id BETWEEN ?1 << 32 AND (?1 << 32) | 4294967295), 0))
    GROUP BY minute"""


def statements(
    record: FiringOpened | EventRow | AlarmRow | CommandRow | ModelRow | ProofRow | PartRow | FiringClosed,
    stamp: Stamp,
) -> list[Statement]:
    """The rows of a record that is written at once."""
    match record:
        case FiringOpened():
            return [_opening(record, stamp), clock(_ms(record.monotonic_s), stamp, "firing opened")]
        case FiringClosed():
            return closing(record, stamp)
        case ModelRow():
            return [_model(record, stamp)]
        case ProofRow():
            return [_proof(record, stamp)]
        case PartRow():
            return [_part(record, stamp)]
        case EventRow():
            values: tuple[Any, ...] = (record.kind, record.who, record.where, as_json(record.detail))
            sql = EVENT
        case AlarmRow():
            values = record[2:-1]
            sql = ALARM
        case CommandRow():
            values = (*record[2:-1], as_json(record.detail))
            sql = COMMAND
    return [Statement(sql, (record.firing_id, record.t_ms, stamp.utc_ms, stamp.boot_id, *values))]


def sample(row: SampleRow) -> tuple[Any, ...]:
    """The values of SAMPLE: the row behind its key."""
    return (row[0] << 32 | row[1], *row)


def estimate(row: EstimateRow) -> Statement:
    """One minute's estimate, behind its key."""
    return Statement(ESTIMATE, (row[0] << 32 | row[1], *row))


def closing(record: FiringClosed, stamp: Stamp) -> list[Statement]:
    """The last minutes of a firing and its closing columns."""
    last_ms = (record.t_ms // MINUTE_MS + 1) * MINUTE_MS
    values = (record.t_ms, stamp.utc_ms, record.state, record.first_cause, as_json(record.results), record.firing_id)
    return [Statement(MINUTES, (record.firing_id, last_ms)), Statement(CLOSE, values)]


def clock(monotonic_ms: int, stamp: Stamp, reason: str) -> Statement:
    """One pair of monotonic and UTC time, and why it was written down."""
    return Statement(CLOCK, (stamp.boot_id, monotonic_ms, stamp.utc_ms, stamp.quality, reason))


def _opening(record: FiringOpened, stamp: Stamp) -> Statement:
    local = datetime.fromtimestamp(stamp.utc_ms / 1000, UTC).astimezone()
    offset = local.utcoffset()
    return Statement(
        OPEN,
        (
            record.firing_id,
            record.name,
            record.heat_number,
            record.profile,
            stamp.furnace,
            record.backend,
            as_json(record.frozen),
            stamp.boot_id,
            _ms(record.monotonic_s),
            stamp.utc_ms,
            stamp.quality,
            local.date().isoformat(),
            round(offset.total_seconds() / 60) if offset else 0,
        ),
    )


def _model(record: ModelRow, stamp: Stamp) -> Statement:
    taken = (record.adopted, record.takes, record.who, record.where)
    texts = (record.model, as_json(record.against), record.note)
    return Statement(MODEL, (record.firing_id, stamp.utc_ms, stamp.boot_id, *taken, *texts))


def _proof(record: ProofRow, stamp: Stamp) -> Statement:
    """Its date is the latest that was known, not the clock's: an untrusted clock proves no day."""
    it = record.proved
    said = (it.proof, it.result, it.witnessed, it.about, it.evidence, it.who, record.where, it.after_part)
    return Statement(PROOF, (record.firing_id, it.utc_ms, stamp.boot_id, *said))


def _part(record: PartRow, stamp: Stamp) -> Statement:
    it = record.changed
    return Statement(PART, (it.utc_ms, stamp.boot_id, it.part, it.note, it.who, record.where, it.after_firing))


def _ms(seconds: float) -> int:
    return round(seconds * 1000)


def as_json(detail: Mapping[Any, Any]) -> str:
    """A detail as JSON text. What JSON cannot say becomes null (NaN, infinity) or a word; nothing raises."""
    return json.dumps(_plain(detail), ensure_ascii=False, allow_nan=False)


def _plain(value: Any) -> Any:
    match value:
        case None | bool() | int() | str() if type(value) in PLAIN:
            return value
        case Enum():
            return _plain(value.value)
        case float():
            return float(value) if isfinite(value) else None
        case Mapping():
            return {str(_plain(key)): _plain(item) for key, item in value.items()}
        case tuple() if hasattr(value, "_asdict"):
            return _plain(value._asdict())
        case object(__dataclass_fields__=fields):
            return {name: _plain(getattr(value, name)) for name in fields}
        case list() | tuple() | set() | frozenset():
            return [_plain(item) for item in value]
        case _:
            return str(value)
