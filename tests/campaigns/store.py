"""What may happen to the records: `python -m tests.campaigns.store --kills 200 --truncations 200 --flips 500`.

Programs that write log and book are killed at random moments; copies of finished records are cut off at a random
length, and have a random bit flipped. Every time the records must open, or it must be said what is wrong with them and
which backup is the last good one. Nothing that was called written may be gone, and every altered row must be named.
What was altered is found by comparing the copy with the original, row by row, not by the seals.
"""

import contextlib
import os
import re
import shutil
import signal
import sqlite3
import tempfile
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

import click

from hardware.clock import monotonic_s, sleep_s
from supervisor.book import lots
from supervisor.book import verifying as book_verifying
from supervisor.book.writing import chained, open_book, read_book
from supervisor.copies.backup import make
from supervisor.copies.restore import restore
from supervisor.logbook import seals
from supervisor.logbook.database import UNREADABLE
from supervisor.logbook.directory import open_directory
from supervisor.logbook.records import Record
from supervisor.logbook.scribe import BATCH_MS, Scribe
from supervisor.logbook.verifying import verify
from supervisor.refusal import InputRefused
from tests.campaigns.ended import end
from tests.supervisor.logbook import BOOT, UTC_MS, alarm, closed, command, estimate, event, opened, sample, samples

LOG, BOOK = "furnace.db", "book.db"
LIVES_FOR_S = 0.25
EVERY_EVENT_MS, EVERY_LOT_MS = 7000, 31_000
OFFERED = "`meltkeeper restore "
LOST_AT_MOST_MS = BATCH_MS

Place = tuple[str, int]


class Trial(NamedTuple):
    """One thing that happened to the records."""

    kind: str  # kill, truncation, flip
    seed: int
    outcome: str
    fault: str  # empty: as it has to be


def killed(place: Path, seed: int) -> Trial:
    """Kill a program in the middle of writing; then look at what is there."""
    random = Random(f"kill {seed}")
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reader)
        with contextlib.suppress(BaseException):
            _write_without_end(place, writer, threaded=seed % 2 == 1)
        os._exit(1)
    os.close(writer)
    with os.fdopen(reader) as pipe:
        first = pipe.readline()
        sleep_s(random.uniform(0.0, LIVES_FOR_S))
        os.kill(child, signal.SIGKILL)
        told = (first + pipe.read()).splitlines()[:-1]  # the last line may be half
    os.waitpid(child, 0)
    return Trial("kill", seed, "opens", _what_is_lost(place, told, threaded=seed % 2 == 1))


def _write_without_end(place: Path, pipe: int, *, threaded: bool) -> None:
    """A line for each sample that was handed over (g), each event (e) and lot (l) that was called written."""
    now_ms = [UTC_MS]
    with open_directory(place, backend="simulated", furnace="bench") as kept:
        scribe = Scribe(kept, boot_id=BOOT, utc_ms=lambda: now_ms[0], threaded=threaded)
        scribe._batch_ms = BATCH_MS
        scribe.put([opened()])
        waiting: dict[int, int] = {}
        t_ms = 0
        while True:
            t_ms += 1000
            rows: list[Record] = [sample(t_ms)]
            rows += [event(t_ms, 1)] if t_ms % EVERY_EVENT_MS == 0 else []
            ticket = scribe.put(rows)
            os.write(pipe, f"g {t_ms}\n".encode())
            if len(rows) > 1:
                waiting[ticket] = t_ms
            for done in [each for each in waiting if each <= scribe.committed]:
                os.write(pipe, f"e {waiting.pop(done)}\n".encode())
            if t_ms % EVERY_LOT_MS == 0:
                _weigh_in(place, t_ms)
                os.write(pipe, f"l {t_ms}\n".encode())


def _weigh_in(place: Path, number: int) -> None:
    with open_book(place / BOOK, who="somebody", sent_from="page", utc_ms=UTC_MS) as book:
        lots.add(book, 1.0, form="solid_offcut", name=f"lot {number}", alloy_name="6082", certainty="likely")


def _what_is_lost(place: Path, told: list[str], *, threaded: bool) -> str:
    given = [int(line[2:]) for line in told if line.startswith("g")]
    events = {int(line[2:]) for line in told if line.startswith("e")}
    weighed = {int(line[2:]) for line in told if line.startswith("l")}
    try:
        with open_directory(place, backend="simulated", furnace="bench") as kept:
            if kept.past is not None:
                return f"the past is unknown: {kept.past}"
        found = verify(place)
        book_fault = book_verifying.verify(place / BOOK).fault if (place / BOOK).exists() else ""
    except InputRefused as refused:
        return f"it does not open: {refused}"
    if found.fault or book_fault:
        return found.fault or book_fault
    with contextlib.closing(sqlite3.connect(place / LOG)) as log:
        there = [t_ms for (t_ms,) in log.execute("SELECT t_ms FROM sample ORDER BY id")]
        kept_events = {t_ms for (t_ms,) in log.execute("SELECT t_ms FROM event WHERE kind = 'note'")}
    if there != list(range(1000, (there or [0])[-1] + 1, 1000)):
        return "there are holes in the samples"
    if not events <= kept_events:
        return f"events that were called written are gone: {sorted(events - kept_events)[:5]}"
    last = (there or [0])[-1]
    if not threaded and given and given[-1] - last > LOST_AT_MOST_MS:  # a thread may be behind: here time runs ahead
        return f"{(given[-1] - last) / 1000:.0f} s of samples are gone"
    if threaded and events and max(events) > last:
        return "samples from before an event that was called written are gone"
    with read_book(place / BOOK) as book:
        there_lots = {int(row["name"].split()[1]) for row in book.rows("SELECT name FROM lots")}
    return "" if weighed <= there_lots else f"lots that were called written are gone: {sorted(weighed - there_lots)}"


def original(place: Path) -> None:
    """Finished records: ten minutes of a firing, a second firing, some lots, and a backup beside them."""
    with open_directory(place, backend="simulated", furnace="bench") as kept:
        scribe = Scribe(kept, boot_id=BOOT, utc_ms=lambda: UTC_MS, threaded=False)
        scribe._batch_ms = BATCH_MS
        scribe.put([opened(1, heat_number="A-001")])
        for row in samples(600):
            scribe.put([row, *([event(row.t_ms, 1, text="a word")] if row.t_ms % 30_000 == 0 else [])])
            if row.t_ms % 60_000 == 0:
                scribe.put([estimate(row.t_ms)])
        scribe.put([alarm(t_ms=9000, firing_id=1), command(9000, 1), closed(600_000)])
        scribe.put([opened(2), *samples(60, 2), closed(60_000, 2)])
        scribe.close()
    for number in range(1, 30):
        _weigh_in(place, number)
    make(place, place / "backups", utc_ms=UTC_MS)


def harmed(of: Path, place: Path, seed: int, kind: str, rows: dict[str, dict[Place, Any]]) -> Trial:
    """Harm a copy of one file; then everything that reads it. rows: what the original holds, by file."""
    random = Random(f"{kind} {seed}")
    shutil.copytree(of, place)
    name = LOG if random.random() < 0.7 else BOOK
    file = place / name
    whole = bytearray(file.read_bytes())
    if kind == "truncation":
        del whole[random.randrange(len(whole)) :]
    else:
        whole[random.randrange(len(whole))] ^= 1 << random.randrange(8)
    file.write_bytes(whole)
    now = _rows(place)[name]
    altered = {key for key in {*rows[name], *now} if rows[name].get(key) != now.get(key)}
    said, refused = _read_all(place, name)
    said_at_start = _begins(place) if name == LOG else ""
    if (refused and OFFERED not in said) or (said_at_start and OFFERED not in said_at_start):
        return Trial(kind, seed, "refused", f"{name}: no backup is offered: {said} {said_at_start}")
    if altered and not said:
        return Trial(
            kind, seed, "opens", f"{name}: nobody says that {len(altered)} rows were altered: {sorted(altered)[:3]}"
        )
    if altered and not refused and not _is_named(said, altered, rows[name]):
        return Trial(kind, seed, "named", f"{name}: {sorted(altered)[:3]} altered, but it says: {said}")
    if refused or altered:
        found = restore(next((place / "backups").iterdir()), place, utc_ms=UTC_MS, anyway=True)[0]
        after = _rows(place)
        if any(after[each] != rows[each] for each in rows):
            return Trial(kind, seed, "restored", f"{name}: the backup {found.path} did not bring everything back")
    return Trial(kind, seed, "refused" if refused else "named" if altered else "told" if said else "nothing lost", "")


def _read_all(place: Path, name: str) -> tuple[str, bool]:
    """What verification says of a file, and whether it was refused as a whole."""
    try:
        if name == LOG:
            return verify(place).fault, False
        return book_verifying.verify(place / BOOK).fault, False
    except InputRefused as refused:
        return str(refused), True


def _begins(place: Path) -> str:
    """Open the log as a supervisor does; why it was refused, or nothing."""
    try:
        with open_directory(place, backend="simulated", furnace="bench"):
            return ""
    except InputRefused as refused:
        return str(refused)


def _is_named(said: str, altered: set[Place], before: dict[Place, Any]) -> bool:
    """Whether a sentence names one of these rows, or the stretch that it is missing from."""
    if any(f"row {row_id} of {table} " in f"{said} ".replace(".", " ").replace(",", " ") for table, row_id in altered):
        return True
    among = re.search(r"one of the rows (\d+) to (\d+) of ([\w ]+) was", said)
    if among is not None:
        first, last = int(among[1]), int(among[2])
        return any(table == among[3] and first <= row_id <= last for table, row_id in altered)
    tables = {table for table, _ in altered}
    stretch = ("missing", "cannot be read", "without a")
    return any(word in said for word in stretch) and any(f" {table}" in said for table in tables)


def _rows(place: Path) -> dict[str, dict[Place, Any]]:
    """Every sealed row of the log and every chained one of the book, one by one; what cannot be read is not there."""
    return {LOG: _each(place / LOG, _sealed), BOOK: _each(place / BOOK, _chained)}


def _sealed(connection: sqlite3.Connection) -> list[tuple[str, str, str]]:
    parts = [(name, table, columns) for name, (table, columns) in seals.PARTS.items()]
    return [*((table, table, "*") for table in seals.tables(connection) if table != "firing"), *parts]


def _chained(connection: sqlite3.Connection) -> list[tuple[str, str, str]]:
    from supervisor.book.writing import Book

    connection.row_factory = sqlite3.Row
    found = [(table, table, "*") for table in chained(Book(connection))]
    connection.row_factory = None
    return found


def _each(file: Path, tables: Callable[[sqlite3.Connection], list[tuple[str, str, str]]]) -> dict[Place, Any]:
    found: dict[Place, Any] = {}
    with contextlib.closing(sqlite3.connect(f"{file.as_uri()}?mode=ro", uri=True)) as connection:
        connection.text_factory = lambda kept: kept.decode("utf-8", "replace")
        with contextlib.suppress(*UNREADABLE):
            for name, table, columns in tables(connection):
                with contextlib.suppress(*UNREADABLE):
                    for (row_id,) in connection.execute(f"SELECT id FROM {table} NOT INDEXED").fetchall():
                        with contextlib.suppress(*UNREADABLE):
                            sql = f"SELECT {columns} FROM {table} WHERE id = ?"
                            row = connection.execute(sql, (row_id,)).fetchone()
                            found[name, row_id] = row
    return found


def campaign(kills: int, truncations: int, flips: int, seed: int) -> list[Trial]:
    """All of it."""
    found = []
    with tempfile.TemporaryDirectory(prefix="store") as name:
        place = Path(name)
        first = place / "original"
        original(first)
        rows = _rows(first)
        for kind, count in (("kill", kills), ("truncation", truncations), ("flip", flips)):
            for number in range(seed, seed + count):
                copy = place / "copy"
                try:
                    found.append(killed(copy, number) if kind == "kill" else harmed(first, copy, number, kind, rows))
                except Exception:  # noqa: BLE001 - told with its trial, and fails the campaign
                    found.append(Trial(kind, number, "exception", traceback.format_exc(limit=-4)))
                shutil.rmtree(copy, ignore_errors=True)
    return found


@click.command()
@click.option("--kills", type=click.IntRange(0), default=200, show_default=True)
@click.option("--truncations", type=click.IntRange(0), default=200, show_default=True)
@click.option("--flips", type=click.IntRange(0), default=500, show_default=True)
@click.option("--seed", type=int, default=1, show_default=True)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def main(kills: int, truncations: int, flips: int, seed: int, as_json: bool) -> None:
    """Kill writers, cut copies off, flip bits. Exit status: 0 as it has to be, 1 something was lost in silence."""
    began_s = monotonic_s()
    found = campaign(kills, truncations, flips, seed)
    bad = [trial for trial in found if trial.fault]
    told: dict[str, Any] = {
        kind: dict(Counter(trial.outcome for trial in found if trial.kind == kind))
        for kind in ("kill", "truncation", "flip")
    }
    told |= {"went_wrong": len(bad), "seconds": round(monotonic_s() - began_s, 1)}
    told["faults"] = [trial._asdict() for trial in bad[:10]]
    end(told, went_wrong=bool(bad), as_json=as_json)


if __name__ == "__main__":
    main()
