"""What was expected of a firing before its start, beside what came; and the estimate, beside what a probe found."""

from collections.abc import Iterator
from typing import Any

from supervisor.link import coarse
from web.book import Units
from web.history import first
from web.words import about, band, energy

Row = dict[str, Any]
Found = dict[str, Any]

NEAR_S = 90.0
"""An estimate so old says nothing of a dip."""


def came(found: Found) -> list[tuple[str, str, str]]:
    """What, as expected, as it came. found: what web.history.one gives. Empty where nothing was forecast."""
    forecast = found["frozen"].get("forecast")
    began_s = first(found["events"], "state", "to", "running")
    if not forecast or began_s is None:
        return []
    rows = []
    if forecast.get("gate_asks_min"):
        asked_s = first(found["events"], "question", "asked", "gate")
        expected = f"after {forecast['gate_asks_min']['likely']:.0f} min"
        rows.append(("Gate asks", expected, _after(asked_s, began_s, _not_yet(found) or "it never asked")))
    ready_s = _ready_s(found)
    if forecast.get("minutes"):
        minutes = forecast["minutes"]
        expected = f"after {minutes['likely']:.0f} min, {minutes['low']:.0f} to {minutes['high']:.0f}"
        rows.append(("Pour likely", expected, _after(ready_s, began_s, _never_ready(found))))
    used_wh = _energy_at(found["points"], ready_s)
    rows.append(("Energy until then", energy(1000 * forecast["kwh"]), energy(used_wh)))
    return rows


def dips(found: Found, units: Units) -> Iterator[tuple[int, float, str]]:
    """Yield when somebody dipped (ms since the start), what they read in °C, and what the estimate had just said."""
    for event in found["events"]:
        if event["kind"] != "note" or event["detail"].get("kind") != "dip reading":
            continue
        before = [row for row in found["estimates"] if 0 <= event["t_ms"] - row["t_ms"] <= 1000 * NEAR_S]
        if not before or before[-1]["metal_c"] is None:
            yield event["t_ms"], event["detail"]["temperature_c"], "the metal was not known"
            continue
        row = before[-1]
        near = coarse.about(row["metal_c"], row["low_c"], row["high_c"])
        said = f"the estimate had said {about(near.c, units)} {band(near.band_k, units)}"
        yield event["t_ms"], event["detail"]["temperature_c"], said


def hottest(found: Found) -> coarse.About | None:
    """The metal at its hottest, as estimated."""
    rows = [row for row in found["estimates"] if row["metal_c"] is not None]
    most = max(rows, key=lambda row: float(row["metal_c"]), default=None)
    return None if most is None else coarse.about(most["metal_c"], most["low_c"], most["high_c"])


def _ready_s(found: Found) -> float | None:
    """When the estimate first had liquid metal at its pouring temperature."""
    pour_c = found["frozen"].get("pour_c")
    rows = (row for row in found["estimates"] if row["phase"] == "liquid" and row["metal_c"] is not None)
    return next((row["t_ms"] / 1000 for row in rows if pour_c is not None and row["metal_c"] >= pour_c), None)


def _not_yet(found: Found) -> str:
    """While the firing is on nothing has failed to come; empty: it is over."""
    return "not yet" if found["firing"].state == "open" else ""


def _never_ready(found: Found) -> str:
    if not_yet := _not_yet(found):
        return not_yet
    known = any(row["metal_c"] is not None for row in found["estimates"])
    return "it did not get that far" if known else "not known: the metal was not estimated"


def _after(at_s: float | None, began_s: float, never: str) -> str:
    return never if at_s is None else f"after {(at_s - began_s) / 60:.0f} min"


def _energy_at(points: list[Any], at_s: float | None) -> float | None:
    if at_s is None:
        return None
    return max((p.energy_wh for p in points if p.energy_wh is not None and p.t_s <= at_s), default=None)
