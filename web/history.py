"""The log as the pages read it: read only, opened for a moment, closed again."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from supervisor.book import charging
from supervisor.book.writing import FILE_NAME, read_book
from supervisor.logbook.reading import Bucket, Firing, Log, open_log
from supervisor.refusal import InputRefused
from web import words
from web.happenings import STATES

STRIP_POINTS = 400


def firings(data: Path, *, limit: int = 200) -> list[Firing]:
    """The firings, newest first; none where there is no log yet.

    Raises:
        InputRefused: there is a log that cannot be read.
    """
    if not (data / "furnace.db").is_file():
        return []
    with open_log(data) as log:
        return log.firings(limit=limit)


def heat_numbers(data: Path) -> list[str]:
    """Every heat number of this furnace's log.

    Raises:
        InputRefused: there is a log that cannot be read.
    """
    if not (data / "furnace.db").is_file():
        return []
    with open_log(data) as log:
        rows = log.rows("SELECT heat_number FROM firing WHERE heat_number NOTNULL ORDER BY id")
    return [str(row["heat_number"]) for row in rows]


def cut(data: Path, snapshot: dict[str, Any]) -> Firing | None:
    """The firing of which the furnace speaks before a reset, while no other is on; None: there is none to be shown."""
    left = snapshot["aftermath"] if snapshot["firing"] is None else None
    if left is None:
        return None
    try:
        newest = next(iter(firings(data, limit=1)), None)
    except InputRefused:
        return None
    return newest if newest is not None and (newest.heat_number or newest.name) == left["name"] else None


def next_heat_number(data: Path, letter: str) -> str:
    """The number after the highest that log and book know: 'A-007'."""
    with read_book(data / FILE_NAME) as book:
        return charging.next_heat_number(book, letter, heat_numbers(data))


def strip(data: Path, firing_id: int) -> dict[str, Any]:
    """The curve of a firing for the chart: least and greatest reading of each stretch, so that no spike is lost.

    Raises:
        InputRefused: there is no such firing.
    """
    with open_log(data) as log:
        firing = log.firing(firing_id)
        frozen = log.frozen(firing_id)
        points = log.strip(firing_id, points=STRIP_POINTS)
        events = log.events(firing_id)
        alarms = log.alarms(firing_id)
        estimates = log.estimates(firing_id)
    return {
        "firing": firing.id,
        "name": firing.heat_number or firing.name,
        "started_utc_ms": firing.started_utc_ms,
        "offset_s": firing.utc_offset_min * 60,
        "lasted_s": firing.lasted_s,
        "open": firing.state == "open",
        "points": _points(points),
        "metal": _metal(estimates),
        "promise": promise(frozen, events),
        "marks": marks(events, alarms),
        "charge": frozen.get("charge"),
    }


def _points(points: list[Bucket]) -> dict[str, list[float | None]]:
    """Two points a stretch, the least and the greatest reading; a gap stays a gap."""
    out: dict[str, list[float | None]] = {"t_s": [], "c": [], "setpoint_c": []}
    for point in points:
        low, high = point.hot_junction_min_c, point.hot_junction_max_c
        pair = (low,) if low == high else (low, high)
        for offset, c in enumerate(pair):
            out["t_s"].append(round(point.t_s + 0.1 * offset, 2))
            out["c"].append(c if c is None else round(c, 2))
            out["setpoint_c"].append(point.setpoint_c if point.setpoint_c is None else round(point.setpoint_c, 1))
    return out


def _metal(estimates: list[dict[str, Any]]) -> dict[str, list[float | None]]:
    """The metal as it was estimated, with its band; nothing where the supervisor did not know."""
    out: dict[str, list[float | None]] = {"t_s": [row["t_ms"] / 1000 for row in estimates]}
    for name, column in (("c", "metal_c"), ("low_c", "low_c"), ("high_c", "high_c")):
        out[name] = [None if row["doubt"] or row[column] is None else round(row[column], 1) for row in estimates]
    return out


def promise(frozen: dict[str, Any], events: list[dict[str, Any]]) -> dict[str, float] | None:
    """The forecast that stood at the start, as seconds of the firing: when the pour was likely, and its band."""
    minutes = (frozen.get("forecast") or {}).get("minutes")
    began_s = first(events, "state", "to", "running")
    if minutes is None or began_s is None:
        return None
    return {f"{name}_s": began_s + 60 * minutes[name] for name in ("likely", "low", "high")}


def first(events: list[dict[str, Any]], kind: str, field: str, value: str) -> float | None:
    """When something first happened, s since the start: an event of this kind whose detail says so."""
    return next((e["t_ms"] / 1000 for e in events if e["kind"] == kind and e["detail"].get(field) == value), None)


def marks(events: list[dict[str, Any]], alarms: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What the strip marks: notes of people, presses, the first alarm, the end."""
    out = []
    for event in events:
        word = _word(event)
        if word:
            out.append({"t_s": event["t_ms"] / 1000, "word": word, "cut": False})
    for alarm in alarms:
        if alarm["step"] == "raised" and alarm["first_out"]:
            out.append({"t_s": alarm["t_ms"] / 1000, "word": alarm["watch"].replace("-", " "), "cut": True})
    return sorted(out, key=lambda mark: mark["t_s"])


def _word(event: dict[str, Any]) -> str:
    detail = event["detail"]
    if event["kind"] == "note":
        return str(detail.get("kind", "note"))
    if event["kind"] == "press":
        return "press"
    return ""


def one(data: Path, firing_id: int) -> dict[str, Any]:
    """Everything that the page of one melt shows.

    Raises:
        InputRefused: there is no such firing.
    """
    with open_log(data) as log:
        firing = _as_far_as_known(log, log.firing(firing_id))
        return {
            "firing": firing,
            "frozen": log.frozen(firing_id),
            "events": log.events(firing_id),
            "alarms": log.alarms(firing_id),
            "commands": log.commands(firing_id),
            "estimates": log.estimates(firing_id),
            "points": log.strip(firing_id, points=STRIP_POINTS),
        }


def _as_far_as_known(log: Log, firing: Firing) -> Firing:
    """A firing without its closing record has no results: peak and energy come from its samples."""
    if firing.peak_c is not None:
        return firing
    points = log.strip(firing.id, points=STRIP_POINTS)
    return firing._replace(
        peak_c=max((p.hot_junction_max_c for p in points if p.hot_junction_max_c is not None), default=None),
        energy_wh=max((p.energy_wh for p in points if p.energy_wh is not None), default=None),
    )


def hours(found: dict[str, Any]) -> list[dict[str, Any]]:
    """What happened in a firing, oldest first: when, what, and by whom or why."""
    started_ms = found["firing"].started_utc_ms
    rows = [(event["t_ms"], *_event_words(event)) for event in found["events"]]
    rows += [
        (alarm["t_ms"], f"Alarm {alarm['step']}: {alarm['watch'].replace('-', ' ')}", alarm["evidence"])
        for alarm in found["alarms"]
    ]
    rows += [
        (asked["t_ms"], f"{asked['who']}: {asked['kind']}{'' if asked['accepted'] else ', refused'}", asked["sentence"])
        for asked in found["commands"]
    ]
    return [
        {"utc_ms": started_ms + t_ms, "t_s": t_ms / 1000, "what": what, "more": more}
        for t_ms, what, more in sorted(rows, key=lambda row: row[0])
    ]


def _event_words(event: dict[str, Any]) -> tuple[str, str]:
    """What happened, and why or by whom."""
    detail, kind = event["detail"], event["kind"]
    by = f"by {event['who']}" if event["who"] and event["who"] != "supervisor" else ""
    if kind == "state":
        return STATES.get(detail.get("to", ""), str(detail.get("to"))), _joined(detail.get("why"), by)
    if kind == "question":
        return f"The furnace asked for the button: {detail.get('asked', '')}", ""
    if kind == "press":
        return f"The button was pressed: {detail.get('answers', '')}", by
    if kind == "sign":
        return "A sign from a phone", _joined(f"{detail.get('left', 0)} more may come before a press", by)
    if kind == "attendance":
        due_s = detail.get("due_in_s")
        return ("No sign is wanted any more", "") if due_s is None else (f"Next sign in {words.duration(due_s)}", "")
    if kind == "note":
        numbers = [words.mass(detail["mass_kg"])] if detail.get("mass_kg") else []
        numbers += [f"{detail['temperature_c']:g} °C"] if detail.get("temperature_c") is not None else []
        return f"Noted: {detail.get('kind', '')}", _joined(*numbers, detail.get("text"), by)
    return kind[0].upper() + kind[1:], _joined(*_flat(detail), by)


def _flat(detail: dict[str, Any]) -> Iterator[str]:
    for name, value in detail.items():
        if isinstance(value, dict):
            yield from _flat(value)
        elif isinstance(value, bool):
            yield f"{name.replace('_', ' ')}: {'yes' if value else 'no'}"
        elif value not in (None, "", []):
            yield f"{name.replace('_', ' ')} {value}"


def _joined(*parts: str | None) -> str:
    return "; ".join(part for part in parts if part)


__all__ = ["InputRefused", "cut", "firings", "first", "hours", "marks", "next_heat_number", "one", "promise", "strip"]
