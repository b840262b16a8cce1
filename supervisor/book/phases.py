"""A firing by its phases, as its log has them: heat up, melt, superheat, hold, pour; for comparing melts.

Where the supervisor estimated the metal, its estimate parts the phases; where it did not know, the reading does: first
liquid is possible once the chamber reads the solidus, and all of it may be liquid once it reads the liquidus and a
little more. Which of the two it was is said with the numbers.
"""

import json
from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

from supervisor.logbook.reading import Firing, Log
from supervisor.metal.enthalpy import enthalpy_j_kg

NAMES = ("heat up", "melt", "superheat", "hold", "pour")
OVER_LIQUIDUS_K = 40.0
"""By the reading alone: so far above the liquidus the chamber reads when the metal in it is likely all liquid (our
choice: what lies above is colder)."""

UNKNOWN_SOLIDUS_C, UNKNOWN_LIQUIDUS_C = 540.0, 640.0
NEAR_TOP_K = 5.0
COOL_C = 700.0
ALL_MOLTEN = 0.98
"""Of the likely share: a mean, so that it never quite comes to one (our choice)."""
J_PER_WH = 3600.0
GAP_MIN = 2.5
"""Estimates come each minute: where the next is later than this, there was a doubt between."""

Fits = Callable[[Mapping[str, Any]], bool]


class Phase(NamedTuple):
    """One phase of a melt. rise_k: of the chamber's reading over it."""

    name: str
    from_min: float
    minutes: float
    kwh: float
    rise_k: float | None


class Course(NamedTuple):
    """One firing by its phases. None: it never came so far, or nobody knows."""

    firing_id: int
    name: str
    phases: Sequence[Phase]
    by: str  # what parts them: 'estimate' or 'reading'
    minutes: float
    kwh: float
    charge_kg: float | None  # with what was added to it, as it was noted at the furnace
    into_metal_kwh: float | None  # what the charge itself took up, to its pour
    liquid_min: float | None  # from all liquid to the pour, or to the end of heat
    metal_most_c: float | None  # the likely metal temperature, at most; of the reading where it was not estimated
    poured_c: float | None  # by the last dip before the pour; else likely metal
    poured_by: str  # 'dip', 'estimate', 'reading' or ''
    skims: int
    cool_min: float  # liquid, by the estimate, and below COOL_C: where sludge settles
    lid_openings: int
    said: tuple[str, ...]  # remarks that people made in it
    alarms: tuple[str, ...]

    def phase(self, name: str) -> Phase | None:
        """One phase; None: it never came to it."""
        return next((each for each in self.phases if each.name == name), None)

    @property
    def kwh_per_kg(self) -> float | None:
        """Energy over what was charged and added."""
        return self.kwh / self.charge_kg if self.charge_kg else None


def course(log: Log, firing: Firing) -> Course:
    """Read one firing: its minute rows, its estimates and its notes; no samples."""
    frozen, minutes = log.frozen(firing.id), log.minutes(firing.id)
    notes = [
        {"t_s": row["t_ms"] / 1000.0, **json.loads(row["detail"])}
        for row in log.rows(
            "SELECT t_ms, detail FROM event WHERE firing_id = ? AND kind = 'note' ORDER BY id", firing.id
        )
    ]
    alarms = [
        str(row["watch"])
        for row in log.rows(
            "SELECT DISTINCT watch FROM alarm WHERE firing_id = ? AND step = 'raised' ORDER BY id", firing.id
        )
    ]
    return of_rows(firing, frozen, minutes, log.estimates(firing.id), notes, alarms)


def of_rows(
    firing: Firing,
    frozen: Mapping[str, Any],
    minutes: Sequence[Mapping[str, Any]],
    estimates: Sequence[Mapping[str, Any]],
    notes: Sequence[Mapping[str, Any]],
    alarms: Sequence[str] = (),
) -> Course:
    """The same from rows, without a log: pure."""
    charge = frozen.get("charge") or {}
    lasted_min = (firing.lasted_s or 0.0) / 60.0 or (float(len(minutes)))
    pours = [note["t_s"] / 60.0 for note in notes if note.get("kind") == "pour"]
    end_min = pours[-1] if pours else lasted_min
    known = [row for row in estimates if not row["doubt"] and row["metal_c"] is not None]
    by, marks = _marks(charge, frozen.get("pour_c"), minutes, known, lasted_min)
    phases = _phases(minutes, marks, lasted_min, end_min)
    poured_c, poured_by = _poured(notes, known, minutes, end_min)
    most = [row["metal_c"] for row in known] or [row["hot_junction_max_c"] for row in minutes if row["readings"]]
    liquid = marks[1]
    mass_kg = _charged_kg(charge, notes)
    solidus_c, liquidus_c = _range(charge)
    into = None
    if mass_kg and poured_c is not None and poured_c > liquidus_c:
        into = mass_kg * enthalpy_j_kg(poured_c, solidus_c, liquidus_c) / J_PER_WH / 1000.0
    return Course(
        firing.id,
        firing.heat_number or firing.name,
        phases,
        by if charge else "",
        lasted_min,
        (firing.energy_wh or _energy(minutes, lasted_min)) / 1000.0,
        mass_kg,
        into,
        None if liquid is None else max(0.0, end_min - liquid),
        max(most, default=None),
        poured_c,
        poured_by,
        sum(note.get("kind") == "skim" for note in notes),
        float(sum(row["phase"] == "liquid" and row["metal_c"] < COOL_C for row in known)),
        int(firing.results.get("lid_openings") or 0),
        tuple(str(note["text"]) for note in notes if note.get("kind") == "remark" and note.get("text")),
        tuple(alarms),
    )


def _charged_kg(charge: Mapping[str, Any], notes: Sequence[Mapping[str, Any]]) -> float | None:
    """All that went into the pot: what it began with, or what it was weighed again to be, and what was added since."""
    kg: float | None = charge.get("mass_kg")
    for note in notes:
        if kg is not None and note.get("mass_kg") is not None:
            kg = {"mass": note["mass_kg"], "addition": kg + note["mass_kg"]}.get(str(note.get("kind")), kg)
    return kg


def _range(charge: Mapping[str, Any]) -> tuple[float, float]:
    return (
        float(charge.get("solidus_c") or UNKNOWN_SOLIDUS_C),
        float(charge.get("liquidus_c") or UNKNOWN_LIQUIDUS_C),
    )


def _marks(
    charge: Mapping[str, Any],
    pour_c: float | None,
    minutes: Sequence[Mapping[str, Any]],
    known: Sequence[Mapping[str, Any]],
    lasted_min: float,
) -> tuple[str, tuple[float | None, float | None, float | None]]:
    """First liquid, all liquid, fit to pour, in minutes; and what says so."""
    if not charge:
        return "reading", (None, None, None)
    solidus_c, liquidus_c = _range(charge)
    pour_c = pour_c or liquidus_c + 60.0
    rows = [row for row in minutes if row["readings"]]
    top_c = max((row["hot_junction_mean_c"] for row in rows), default=0.0)
    read = (
        _first(rows, lambda row: row["hot_junction_mean_c"] >= solidus_c),
        _first(rows, lambda row: row["hot_junction_mean_c"] >= liquidus_c + OVER_LIQUIDUS_K),
        _first(rows, lambda row: row["hot_junction_mean_c"] >= max(pour_c, top_c - NEAR_TOP_K)),
    )
    if len(known) < 0.5 * lasted_min:
        return "reading", read
    fits: tuple[Fits, ...] = (
        lambda row: row["phase"] in ("melting", "liquid"),
        lambda row: row["phase"] == "liquid" or (row["share_molten"] or 0.0) >= ALL_MOLTEN,
        lambda row: row["metal_c"] >= pour_c,
    )
    melting, liquid, ready = (_estimated(known, fit, by) for fit, by in zip(fits, read, strict=True))
    return "estimate", (melting, liquid, ready)


def _estimated(known: Sequence[Mapping[str, Any]], fits: Fits, read: float | None) -> float | None:
    """Where the estimate came to a mark. Where it did not know for a while before, the reading says when, within it."""
    before_min: float | None = None
    for row in known:
        at_min = row["t_ms"] / 60_000.0
        if fits(row):
            if before_min is not None and at_min - before_min > GAP_MIN and read is not None:
                return float(max(before_min, min(at_min, read)))
            return float(at_min)
        before_min = at_min
    return None


def _first(rows: Sequence[Mapping[str, Any]], fits: Fits) -> float | None:
    for row in rows:
        if fits(row):
            return float(row["minute"] if "minute" in row else row["t_ms"] / 60_000.0)
    return None


def _phases(
    minutes: Sequence[Mapping[str, Any]],
    marks: tuple[float | None, float | None, float | None],
    lasted_min: float,
    end_min: float,
) -> list[Phase]:
    """From mark to mark; what the firing never came to is not there."""
    bounds: list[tuple[str, float]] = [("heat up", 0.0)]
    for name, at in zip(("melt", "superheat", "hold"), marks, strict=True):
        if at is None:
            break
        bounds.append((name, max(at, bounds[-1][1])))
    if end_min > lasted_min:
        bounds.append(("pour", max(lasted_min, bounds[-1][1])))
    ends = [at for _, at in bounds[1:]] + [max(lasted_min, end_min)]
    return [
        Phase(
            name,
            start,
            end - start,
            (_energy(minutes, end) - _energy(minutes, start)) / 1000.0,
            _rise(minutes, start, end),
        )
        for (name, start), end in zip(bounds, ends, strict=True)
    ]


def _energy(minutes: Sequence[Mapping[str, Any]], at_min: float) -> float:
    """Wh by a minute of the firing: rows hold what was used by their end."""
    before = 0.0
    for row in minutes:
        if row["minute"] + 1 > at_min:
            break
        before = row["energy_wh"] if row["energy_wh"] is not None else before
    return float(before)


def _rise(minutes: Sequence[Mapping[str, Any]], start: float, end: float) -> float | None:
    inside = [row for row in minutes if row["readings"] and start <= row["minute"] < max(end, start + 1.0)]
    return float(inside[-1]["hot_junction_mean_c"] - inside[0]["hot_junction_mean_c"]) if inside else None


def _poured(
    notes: Sequence[Mapping[str, Any]],
    known: Sequence[Mapping[str, Any]],
    minutes: Sequence[Mapping[str, Any]],
    end_min: float,
) -> tuple[float | None, str]:
    dips = [note for note in notes if note.get("kind") == "dip reading" and note["t_s"] / 60.0 <= end_min]
    if dips and dips[-1].get("temperature_c") is not None:
        return float(dips[-1]["temperature_c"]), "dip"
    before = [row for row in known if row["t_ms"] / 60_000.0 <= end_min]
    if before:
        return float(before[-1]["metal_c"]), "estimate"
    read = [row for row in minutes if row["readings"] and row["minute"] <= end_min]
    return (float(read[-1]["hot_junction_mean_c"]), "reading") if read else (None, "")


def courses(log: Log, firings: Sequence[Firing]) -> list[Course]:
    """Several of them, in their order; those of paper have no phases and are left out."""
    return [course(log, firing) for firing in firings if firing.backend != "paper"]
