"""What is kept of the furnace's care: statements of people, and what each firing says, reckoned once.

The book holds both. Statements are dated, signed and never changed; figures can be reckoned anew from the log.
"""

import json
import sqlite3
from collections.abc import Mapping
from typing import Any, NamedTuple

from supervisor.book.writing import Book
from supervisor.care.element import AROUND_S, Element, VoltRead, element_of
from supervisor.care.figures import Figures
from supervisor.firing.drying import DriedAt, from_record
from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook.commissioning import changes
from supervisor.logbook.reading import Firing, Log
from supervisor.refusal import refusal

LIMITS = {
    "mains voltage": (90.0, 480.0, "V"),
    "cold ohms": (0.1, 1000.0, "ohm"),
    "ice check": (-20.0, 30.0, "°C"),
    "boiling check": (70.0, 140.0, "°C"),
    "second probe": (0.5, 10.0, "K"),
}
"""What a number of each kind may be: read voltage, ohms of the dead element, readings, how far a second probe may be
off."""


CLOSED = ("complete", "stopped", "aborted")
"""States of a firing with a closing record."""


class Entry(NamedTuple):
    """One statement."""

    id: int
    kind: str  # of supervisor.book.schema.CARE_KINDS
    firing_id: int | None
    value: float | None
    detail: Mapping[str, Any]
    note: str
    utc_ms: int
    who: str


def enter(
    book: Book,
    kind: str,
    *,
    value: float | None = None,
    firing_id: int | None = None,
    note: str = "",
    detail: Mapping[str, Any] | None = None,
) -> int:
    """Write a statement into the open book; its number. detail of a mains voltage: t_s, since the firing's start.

    Raises:
        InputRefused: the number is out of range, or is missing.
    """
    if kind in LIMITS:
        low, high, unit = LIMITS[kind]
        if value is None or not low <= value <= high:
            raise refusal("care", kind, value, f"{low:g} to {high:g} {unit}")
    text = json.dumps(detail or {}, ensure_ascii=False)
    return book.append("care_entry", kind=kind, firing_id=firing_id, value=value, detail=text, note=note.strip())


def entries(book: Book, kind: str = "") -> list[Entry]:
    """Statements of one kind, or all of them, the oldest first."""
    rows = book.rows("SELECT * FROM care_entry WHERE ?1 = '' OR kind = ?1 ORDER BY id", kind)
    return [Entry(*(row[name] for name in Entry._fields))._replace(detail=json.loads(row["detail"])) for row in rows]


def all_figures(log: Log, book: Book) -> list[Figures]:
    """Figures of every closed firing with samples, the oldest first: two tables are read, and no sample.

    What was not reckoned yet (`reckon`) is None in them.
    """
    kept = {row["firing_id"]: json.loads(row["figures"]) for row in book.rows("SELECT * FROM care_figure ORDER BY id")}
    metal = {row[0] for row in log.rows("SELECT id FROM firing WHERE json_extract(frozen, '$.charge') IS NOT NULL")}
    found = []
    for firing in reversed(log.firings()):
        if firing.state in ("open", "interrupted") or firing.backend == "paper":
            continue
        of, results = kept.get(firing.id, {}), firing.results
        element = Element(*of["element"]) if of.get("element") else None
        over_s = results.get("seconds_above_660")
        found.append(
            Figures(
                firing.id,
                firing.started_utc_ms,
                firing.id in metal,
                (firing.lasted_s or 0.0) / 3600.0,
                None if over_s is None else over_s / 3600.0,
                firing.peak_c,
                element,
                of.get("sensor_offset_k"),
                of.get("sensor_offset_sd_k"),
                of.get("dip_offset_k"),
                results.get("relay_operations"),
                results.get("contactor_operations"),
            )
        )
    return found


def missing(log: Log, book: Book, furnace: FurnaceDescription) -> list[Firing]:
    """Closed firings of which nothing was reckoned yet, the oldest first.

    So are those whose voltage was read since, and melts from before there was a model to hold their sensor against.
    """
    rows = book.rows("SELECT firing_id, utc_ms, figures FROM care_figure ORDER BY id")
    done = {row["firing_id"]: (row["utc_ms"], "known" in json.loads(row["figures"])) for row in rows}
    read = {each.firing_id: each.utc_ms for each in entries(book, "mains voltage")}
    newest = log.next_firing_id()
    learned = reference(log, furnace, newest) is not None

    def todo(firing: Firing) -> bool:
        if firing.id not in done:
            return True
        at_ms, held = done[firing.id]
        late = learned and not held and reference(log, furnace, firing.id) is not None
        return read.get(firing.id, 0) > at_ms or late

    closed = [each for each in reversed(log.firings()) if each.state in CLOSED and each.backend != "paper"]
    return [firing for firing in closed if todo(firing)]


def reckon(log: Log, book: Book, furnace: FurnaceDescription, firing: Firing) -> dict[str, Any]:
    """What one firing says of element and sensor, and keep it. Takes a second, and numerical libraries."""
    read = [VoltRead(each.detail["t_s"], each.value or 0.0) for each in entries(book, "mains voltage")
            if each.firing_id == firing.id]  # fmt: skip
    energies = _energies(log, furnace, firing, read)
    element = element_of(firing.results, furnace, read, energies)
    found: dict[str, Any] = {"element": None if element is None else list(element), **_arrest(log, furnace, firing)}
    found["left"] = _left(log, book, firing, element)
    dips = [offset for offset in _dips(log, firing) if offset is not None]
    found["dip_offset_k"] = round(sum(dips) / len(dips), 1) if dips else None
    book.append("care_figure", firing_id=firing.id, figures=json.dumps(found))
    return found


def _left(log: Log, book: Book, firing: Firing, element: Element | None) -> dict[str, Any]:
    """Melts left in the element, by every firing with it up to this one."""
    from supervisor.care.ageing import melts_left  # late: numerical libraries

    after = max((c.after_firing for c in changes(log) if c.part == "element" and c.after_firing < firing.id), default=0)
    before = [each for each in all_figures(log, book) if after < each.firing_id < firing.id]
    now = Figures(firing.id, firing.started_utc_ms, True, 0.0, None, None, element, None, None, None, None, None)
    return melts_left([*before, now])._asdict()


def _energies(
    log: Log, furnace: FurnaceDescription, firing: Firing, read: list[VoltRead]
) -> list[tuple[float, float, float]]:
    """(t_s, ordered, metered) in Wh near the moments at which a voltage was read, in one course: these may overlap.

    Rows that end a second alone: around a finding there are four a second, and their duties overlap.
    """
    around: dict[float, sqlite3.Row] = {}
    for each in read:
        rows = log.samples(firing.id, from_s=max(0.0, each.t_s - AROUND_S), to_s=each.t_s + AROUND_S)
        whole = [row for row in rows if row["mean_c"] is not None] or rows
        around |= {row["t_s"]: row for row in whole}
    found, ordered_wh, before_s = [], 0.0, None
    for t_s, row in sorted(around.items(), key=lambda each: each[0]):
        ordered_wh += 0.0 if before_s is None else row["duty"] * (t_s - before_s) * furnace.full_power_w / 3600.0
        before_s = t_s
        found.append((t_s, ordered_wh, row["energy_wh"]))
    return found


def _arrest(log: Log, furnace: FurnaceDescription, firing: Firing) -> dict[str, Any]:
    from supervisor.care.arrest import arrest  # late: numerical libraries
    from supervisor.logbook.learning import series_of

    model = reference(log, furnace, firing.id)
    if model is None:
        return {}
    try:
        found = arrest(series_of(log, firing, furnace), furnace, model)
    except ValueError:  # it has no reading
        found = None
    if found is None:
        return {"known": False}  # it was held against a model: it need not be again
    return {
        "sensor_offset_k": round(found.offset_k - _corrected_by_k(log, firing, found.reading_c), 2),
        "sensor_offset_sd_k": found.sd_k,
        "known": found.known,
        "model_made_utc_ms": model.made_utc_ms,
    }


def _corrected_by_k(log: Log, firing: Firing, reading_c: float) -> float:
    """What was added to the reading then: the sensor itself is held against the metal, not its correction."""
    told = log.frozen(firing.id).get("sensor_correction")
    return 0.0 if not told else float(told["k"]) * reading_c / float(told["at_c"])


def reference(log: Log, furnace: FurnaceDescription, firing_id: int) -> Any:
    """The model that a firing's sensor is held against: the first with three firings on this element, lining and pot.

    Another sensor does not end it: that is what shows how a new one reads beside the old one. None: there is none.
    """
    from supervisor.model.learned import LEAST_FIRINGS, Model, parts_digest

    after = max(
        (
            each.after_firing
            for each in changes(log)
            if each.part in ("element", "lining", "crucible") and each.after_firing < firing_id
        ),
        default=0,
    )
    for row in reversed(log.models()):
        try:
            model = Model.from_json(json.dumps(row.model))
        except ValueError:
            continue
        enough = row.adopted and len(set(model.learned_from)) >= LEAST_FIRINGS
        if enough and min(model.learned_from) > after and model.furnace_digest == parts_digest(furnace):
            return model
    return None


def _dips(log: Log, firing: Firing) -> list[float | None]:
    """Metal by dip less metal by the estimate of the minute before, K."""
    notes = [
        (event["t_ms"] / 1000.0, event["detail"]["temperature_c"])
        for event in log.events(firing.id)
        if event["kind"] == "note" and event["detail"].get("kind") == "dip reading"
    ]
    estimates = [(row["t_ms"] / 1000.0, row["metal_c"]) for row in log.estimates(firing.id)] if notes else []
    found: list[float | None] = []
    for at_s, metal_c in notes:
        before = [guess for guess_s, guess in estimates if guess_s <= at_s and guess is not None]
        found.append(round(metal_c - before[-1], 1) if before else None)
    return found


def reckon_missing(log: Log, book: Book, furnace: FurnaceDescription) -> int:
    """Reckon what is missing, the oldest first; how many. The newest firing's forecast follows the others."""
    todo = missing(log, book, furnace)
    newest = next((each for each in log.firings() if each.state in CLOSED and each.backend != "paper"), None)
    again = [newest] if todo and newest is not None and newest.id != todo[-1].id else []
    for firing in (*todo, *again):
        reckon(log, book, furnace, firing)
    return len(todo)


def dried(log: Log) -> list[list[DriedAt]]:
    """Holds of dry-outs that ended as the power said so, firing by firing, since lining or pot was last changed."""
    after = max((each.after_firing for each in changes(log) if each.part in ("lining", "crucible")), default=0)
    firings = [each for each in reversed(log.firings()) if each.id > after]
    return [holds for holds in (from_record(each.results) for each in firings) if holds]
