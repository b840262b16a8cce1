"""What the log holds for learning the furnace: firings as series, which of them are fit, and the models kept so far."""

import json
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from hardware.ports import Inputs, Level
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.reckoning import METER_FITS
from supervisor.furnace.stages import taught_from
from supervisor.logbook.commissioning import changes
from supervisor.logbook.inputs import LEVELS
from supervisor.logbook.reading import Firing, KeptModel, Log
from supervisor.logbook.records import PAPER
from supervisor.metal.charge import Charge
from supervisor.model.learned import LEAST_FIRINGS, Model, parts_digest
from supervisor.model.series import Addition, Dip, Row, Series, series

LEAST_MINUTES = 10.0
"""A shorter firing teaches nothing worth the name (our choice)."""

_MASS_ANSWERED = (("note", "mass", None), ("press", None, "mass"))
"""Event, kind of note, what a press answered: weighed again, or said to be right at the furnace."""

_LID_AT = 2 * (len(Inputs._fields) - 1 - Inputs._fields.index("lid"))


class Kept(NamedTuple):
    """A model of the log that this furnace's parts still fit, and the row that keeps it."""

    row: KeptModel
    model: Model


class Models(NamedTuple):
    """What was learned of the furnace as its parts are now; the newest first."""

    kept: Sequence[Kept]

    @property
    def adopted(self) -> Model | None:
        """What the next firing uses."""
        return next((kept.model for kept in self.kept if kept.row.adopted), None)

    @property
    def commissioning(self) -> Model | None:
        """The first that was adopted with enough firings: what later ones may not drift from."""
        first = [k.model for k in self.kept if k.row.adopted and len(set(k.model.learned_from)) >= LEAST_FIRINGS]
        return first[-1] if first else None


def models(log: Log, furnace: FurnaceDescription) -> Models:
    """The models in a log that fit element, sensor, lining and crucible as the furnace file describes them now.

    A model that a firing from before such a part was changed has taught is of another furnace.
    """
    digest, after = parts_digest(furnace), taught_from(changes(log))
    found = []
    for row in log.models():
        try:
            model = Model.from_json(json.dumps(row.model))
        except ValueError:  # of a later meltkeeper, or damaged: the log keeps it, nobody uses it
            continue
        if after and min(model.learned_from, default=0) <= after:
            continue
        if model.furnace_digest == digest:
            found.append(Kept(row, model))
    return Models(tuple(found))


def was_drained(log: Log) -> bool:
    """Whether the last firing with metal ended with a pour, as somebody noted.

    Without such a firing nobody knows; a simulated furnace's pot is then new.
    """
    for firing in log.firings():
        if log.frozen(firing.id).get("charge") is not None:
            return any(note["kind"] == "pour" for _, note in _notes(log, firing.id))
    return log.kind() == "simulated"


def why_not(log: Log, firing: Firing, furnace: FurnaceDescription) -> str:
    """Why a firing cannot be learned from, in a few words; empty: it can."""
    frozen = log.frozen(firing.id)
    if firing.backend == PAPER:
        return "it was entered from paper"
    if firing.state not in ("complete", "stopped"):
        return f"it is {firing.state}"
    if frozen.get("parts_digest", parts_digest(furnace)) != parts_digest(furnace):
        return "element, sensor, lining or crucible were others then"
    if firing.id <= taught_from(changes(log)):
        return "element, sensor, lining or crucible was changed since then"
    if "parts_digest" not in frozen and frozen.get("furnace_digest") != furnace.digest:
        return "the furnace file was another then"
    if (firing.lasted_s or 0.0) < LEAST_MINUTES * 60.0:
        return f"it lasted less than {LEAST_MINUTES:.0f} min"
    found = _findings(log, firing.id)
    if found:
        return f"watches spoke: {', '.join(dict.fromkeys(found))}"
    notes = _notes(log, firing.id)
    if frozen.get("charge") is not None and not any(note["kind"] == "pour" for _, note in notes):
        return "nobody noted the pour, so its outcome is not confirmed"
    return _mass_in_doubt(log, firing.id)


def series_of(log: Log, firing: Firing, furnace: FurnaceDescription, *, meter: bool = True) -> Series:
    """One firing as the model sees it, up to its pour.

    Raises:
        ValueError: it has no reading.
    """
    notes = _notes(log, firing.id)
    rows = [
        Row(row["t_s"], row["hot_junction_c"], row["duty"], row["energy_wh"], _lid_open(row["inputs"]))
        for row in log.samples(firing.id)
    ]
    poured_s = next((t_s for t_s, note in notes if note["kind"] == "pour"), None)
    additions = [Addition(t_s, note["mass_kg"], None) for t_s, note in notes if note["kind"] == "addition"]
    charge = _charge(log.frozen(firing.id), additions, notes)
    made = series(
        rows,
        furnace=furnace,
        charge=charge,
        additions=additions,
        dips=[
            Dip(t_s, note["temperature_c"])
            for t_s, note in notes
            if note["kind"] == "dip reading" and note.get("believed", True)
        ],
        poured_s=poured_s,
        metered=meter and _meter_agrees(rows, furnace),
        firing_id=firing.id,
        started_utc_ms=firing.started_utc_ms,
        findings=len(_findings(log, firing.id)),
    )
    if charge is None:
        return replace(made, outcome=firing.state)
    return replace(made, outcome="poured" if poured_s is not None and not _mass_in_doubt(log, firing.id) else "")


def _notes(log: Log, firing_id: int) -> list[tuple[float, dict[str, Any]]]:
    """What people noted in a firing, with the second at which they did."""
    return [(event["t_ms"] / 1000.0, event["detail"]) for event in log.events(firing_id) if event["kind"] == "note"]


def _findings(log: Log, firing_id: int) -> list[str]:
    return [alarm["watch"] for alarm in log.alarms(firing_id) if alarm["step"] == "raised"]


def _mass_in_doubt(log: Log, firing_id: int) -> str:
    """A doubt on the mass that neither a new weighing nor a press at the furnace has answered."""
    doubted = False
    for event in log.events(firing_id):
        if event["kind"] == "mass doubted":
            doubted = True
        elif (event["kind"], event["detail"].get("kind"), event["detail"].get("answers")) in _MASS_ANSWERED:
            doubted = False
    return "the charge's mass was doubted and nobody answered" if doubted else ""


def _charge(
    frozen: dict[str, Any], additions: Sequence[Addition], notes: Sequence[tuple[float, dict[str, Any]]]
) -> Charge | None:
    """What was in the pot at the start. A later weighing counts: it is of all that is in it by then."""
    if frozen.get("charge") is None:
        return None
    charge = Charge(**frozen["charge"])
    weighed = [(t_s, note["mass_kg"]) for t_s, note in notes if note["kind"] == "mass"]
    if not weighed:
        return charge
    at_s, mass_kg = weighed[-1]
    return replace(charge, mass_kg=mass_kg - sum(added.mass_kg for added in additions if added.t_s <= at_s))


def _lid_open(inputs: int) -> bool:
    return LEVELS[inputs >> _LID_AT & 3] is Level.OPEN


def _meter_agrees(rows: Sequence[Row], furnace: FurnaceDescription) -> bool:
    """A meter is fitted, and what it counted can be true."""
    if furnace.pulses_per_kwh is None or not rows:
        return False
    ordered_wh, before_s = 0.0, 0.0
    for row in rows:
        ordered_wh += row.duty * (row.t_s - before_s) * furnace.full_power_w / 3600.0
        before_s = row.t_s
    metered_wh = rows[-1].energy_wh
    least, most = METER_FITS
    return ordered_wh > 0.0 and least <= metered_wh / ordered_wh <= most
