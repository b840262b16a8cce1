"""What the log keeps of the equipment itself: proofs, changed parts, and what each part has been through since."""

from typing import NamedTuple

from supervisor.furnace import permit_times
from supervisor.furnace.parts import PARTS
from supervisor.furnace.stages import Changed, Proved, Unlocking
from supervisor.logbook.last import last_events
from supervisor.logbook.reading import Log

_NEVER = """CREATE TRIGGER {table}_never_{what} BEFORE {verb} ON {table}
        BEGIN SELECT RAISE(ABORT, 'rows of {table} are never {what}{instead}'); END"""

TABLES = (
    """
    CREATE TABLE part (
        id INTEGER PRIMARY KEY,
        utc_ms INTEGER NOT NULL,
        boot_id TEXT NOT NULL,
        part TEXT NOT NULL,
        note TEXT NOT NULL,
        who TEXT NOT NULL,
        sent_from TEXT NOT NULL,
        after_firing INTEGER NOT NULL CHECK (after_firing >= 0)
    ) STRICT""",
    """
    CREATE TABLE proof (
        id INTEGER PRIMARY KEY,
        firing_id INTEGER REFERENCES firing (id),
        utc_ms INTEGER NOT NULL,
        boot_id TEXT NOT NULL,
        proof TEXT NOT NULL,
        result TEXT NOT NULL CHECK (result IN ('proved', 'failed', 'undecided')),
        witnessed INTEGER NOT NULL CHECK (witnessed IN (0, 1)),
        about TEXT NOT NULL,
        evidence TEXT NOT NULL,
        who TEXT NOT NULL,
        sent_from TEXT NOT NULL,
        after_part INTEGER NOT NULL CHECK (after_part >= 0)
    ) STRICT""",
    """
    CREATE VIEW parts AS
    SELECT p.id, strftime('%Y-%m-%dT%H:%M:%SZ', p.utc_ms / 1000, 'unixepoch') AS changed_utc, p.part, p.note, p.who,
           p.sent_from, p.after_firing
    FROM part p""",
    """
    CREATE VIEW proofs AS
    SELECT p.id, strftime('%Y-%m-%dT%H:%M:%SZ', p.utc_ms / 1000, 'unixepoch') AS proved_utc, p.proof, p.result,
           CASE p.witnessed WHEN 1 THEN 'witnessed' ELSE 'stated by ' || p.who END AS how, p.about, p.evidence, p.who,
           p.sent_from, f.name, f.heat_number, p.firing_id
    FROM proof p LEFT JOIN firing f ON f.id = p.firing_id""",
    *(
        _NEVER.format(table=table, what=what, verb=verb, instead=instead)
        for table in ("part", "proof")
        for what, verb, instead in (("deleted", "DELETE", ""), ("changed", "UPDATE", "; a correction is a new row"))
    ),
)
"""Layout 4."""

_SINCE_LAYOUT = 4


class Worn(NamedTuple):
    """One part, since when it is there, and what it has been through since."""

    part: str
    since_utc_ms: int | None  # None: from the first day
    note: str
    who: str
    firings: int
    melts: int  # firings with metal
    hours: float
    peak_c: float | None


def unlocking(log: Log, *, counted: bool, today_ms: int) -> Unlocking:
    """What was proved and changed so far. today_ms: the latest date that is known."""
    return Unlocking(counted, proofs(log), changes(log), today_ms)


def proofs(log: Log) -> list[Proved]:
    """Every try of every proof, the oldest first; none in a log of an older layout."""
    if log.layout < _SINCE_LAYOUT:
        return []
    rows = log.rows("SELECT proof, result, witnessed, about, evidence, who, utc_ms, after_part FROM proof ORDER BY id")
    return [Proved(*row)._replace(witnessed=bool(row["witnessed"])) for row in rows]


def changes(log: Log) -> list[Changed]:
    """Every change of a part, the oldest first."""
    if log.layout < _SINCE_LAYOUT:
        return []
    return [Changed(*row) for row in log.rows("SELECT part, note, who, utc_ms, after_firing FROM part ORDER BY id")]


def permit_moved(log: Log) -> str:
    """What is to be said of the permit's times in the newest start test, against commissioning; empty: nothing."""
    newest = next(iter(last_events(log, "start test", limit=1)), None)
    now = {} if newest is None else newest["detail"].get("times_s", {})
    return permit_times.moved(permit_times.commissioned(proofs(log), changes(log)), now)


def worn(log: Log) -> list[Worn]:
    """What each part has been through since it was fitted."""
    last = {each.part: each for each in changes(log)}
    found = []
    for name in PARTS:
        since = last.get(name)
        after = 0 if since is None else since.after_firing
        (row,) = log.rows(
            "SELECT count(*) AS firings, coalesce(sum(json_extract(frozen, '$.charge') IS NOT NULL), 0) AS melts,"
            " coalesce(sum(closed_t_ms), 0) / 3600000.0 AS hours, max(json_extract(results, '$.peak_c')) AS peak_c"
            " FROM firing WHERE id > ? AND backend <> 'paper'",
            after,
        )
        found.append(
            Worn(
                name,
                None if since is None else since.utc_ms,
                "" if since is None else since.note,
                "" if since is None else since.who,
                row["firings"],
                row["melts"],
                row["hours"],
                row["peak_c"],
            )
        )
    return found
