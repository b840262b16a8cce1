"""A firing and what happened in it as a person reads it, for the command line and for a page of its own."""

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

from supervisor.logbook.reading import Firing
from supervisor.logbook.records import PAPER

UNITS = {"_c": "°C", "_k": "K", "_wh": "Wh", "_s": "s", "_kg": "kg", "_min": "min"}

Rows = Iterable[Mapping[str, Any]]


def facts(firing: Firing, frozen: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What a firing was: its start, its end, its results, and what was frozen at its start."""
    told = {
        "Name": firing.name,
        "Heat number": firing.heat_number or "none",
        "Profile": firing.profile,
        "Furnace": f"{firing.furnace} ({firing.backend})",
        "Started": started(firing, " (time not confirmed)"),
        "Ended": ended(firing),
        "Lasted": duration(firing.lasted_s),
    }
    told |= {_words(name): _value(name, value) for name, value in firing.results.items()}
    plain = {name: value for name, value in frozen.items() if not isinstance(value, dict | list)}
    told |= {f"At the start: {_words(name)}": _value(name, value) for name, value in plain.items()}
    return list(told.items())


def timeline(events: Rows, alarms: Rows, commands: Rows) -> list[tuple[str, str, str, str]]:
    """Events, alarms and commands in the order of time: when, what, said, who."""
    lines: list[tuple[int, str, str, str]] = []
    for row in events:
        told = ", ".join(f"{_words(name)} {_value(name, value)}" for name, value in row["detail"].items())
        lines.append((row["t_ms"], row["kind"], told, row["who"]))
    for row in alarms:
        lines.append((row["t_ms"], f"alarm {row['step']}", f"{row['watch']}: {row['evidence']}", row["who"]))
    for row in commands:
        answer = "accepted" if row["accepted"] else "refused"
        lines.append((row["t_ms"], f"command {row['kind']}", f"{answer}: {row['sentence']}", row["who"]))
    return [
        (duration(t_ms / 1000), what, said, who) for t_ms, what, said, who in sorted(lines, key=lambda line: line[0])
    ]


def started(firing: Firing, doubt: str) -> str:
    """When, where the furnace stands. doubt: is added where the clock was not confirmed."""
    local = datetime.fromtimestamp(firing.started_utc_ms / 1000, UTC) + timedelta(minutes=firing.utc_offset_min)
    return f"{local:%Y-%m-%d %H:%M}" + ("" if firing.clock_confirmed else doubt)


def ended(firing: Firing) -> str:
    """How."""
    if firing.backend == PAPER:
        return "from paper"
    if firing.state == "open":
        return "running now"
    if firing.state == "interrupted":
        return "interrupted"
    return firing.state + (f": {firing.first_cause}" if firing.first_cause else "")


def measure(value: float | None, places: int, unit: str) -> str:
    """A number with its unit, or a dash."""
    return "–" if value is None else f"{value:.{places}f} {unit}"


def duration(seconds: float | None) -> str:
    """Hours, minutes, seconds."""
    if seconds is None:
        return "–"
    whole = int(seconds)
    return f"{whole // 3600}:{whole // 60 % 60:02}:{whole % 60:02}"


def _words(name: str) -> str:
    unit = next((suffix for suffix in UNITS if name.endswith(suffix)), "")
    return name.removesuffix(unit).replace("_", " ")


def _value(name: str, value: Any) -> str:
    unit = next((text for suffix, text in UNITS.items() if name.endswith(suffix)), "")
    match value:
        case None:
            return "unknown"
        case bool():
            return "yes" if value else "no"
        case int() | float():
            return f"{value:g} {unit}" if abs(value) < 1 else f"{value:.6g} {unit}".rstrip()
        case _:
            return str(value)
