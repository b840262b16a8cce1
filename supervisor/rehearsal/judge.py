"""A recorded firing judged again: what today's watches would have said, and when, beside what was said then.

Evidence only: nothing is decided, nothing is switched, nothing is written. docs/logbook.md says what the log holds for
this, and what not.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from hardware.ports import Inputs
from supervisor.alarms.texts import TEXTS
from supervisor.firing.profile import Hold, Profile, Ramp
from supervisor.firing.profile_file import profile_from_text
from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook.learning import Kept, models
from supervisor.logbook.reading import Firing, Log
from supervisor.metal.charge import Charge
from supervisor.model.learned import LEAST_FIRINGS
from supervisor.refusal import InputRefused
from supervisor.rehearsal import again
from supervisor.rehearsal.again import Spoke
from supervisor.rehearsal.done import SWITCHES
from supervisor.rehearsal.record import cycles, first_reading
from supervisor.watches import WATCHES

SAME_WITHIN_S = 1.0
"""One row of the log."""

LAST_ROW_S = 1.3
"""So long at most before its end a firing has its last row."""

_MIRROR_AT = 2 * (len(Inputs._fields) - 1 - Inputs._fields.index("mirror"))

_OF_ITSELF = "how late the supervisor itself was, and what it was given twice, is not in the log"
_OF_THE_BOARD = "what the computer said of itself is not in the log"

NOT_IN_THE_LOG = {
    "loop-late": _OF_ITSELF,
    "sample-repeated": _OF_ITSELF,
    "samples-stale": _OF_ITSELF,
    "log-behind": "how far the disk was behind is not in the log",
    "start-test": "the start test's steps are shorter than a row of the log",
    "supply-weak": _OF_THE_BOARD,
    "processor-hot": _OF_THE_BOARD,
    "clock-untrusted": _OF_THE_BOARD,
    "messages-fail": "which messages arrived is not a matter of one firing",
}
"""Watches that look at what the log does not keep, and why they cannot be judged again."""


OLDER_LOG = {"sensors-disagree": "the second thermocouple is not in this older log"}


class Said(NamedTuple):
    """One time that a watch spoke: then, today, or both."""

    watch: str
    title: str
    verdict: str  # same, earlier, later, new, no longer, not judged
    then_s: float | None  # since the firing's start
    today_s: float | None
    evidence_then: str
    evidence_today: str


class Judgement(NamedTuple):
    """What came of judging one firing again."""

    firing: Firing
    said: tuple[Said, ...]  # in the order of time
    not_judged: dict[str, str]  # watch and why, of those in today's table
    remarks: tuple[str, ...]  # what the record lacks, or what has changed since, in sentences
    learned_from: tuple[int, ...]  # firings behind the model that it was judged with; none: nothing was learned

    @property
    def differs(self) -> bool:
        """Something would be said otherwise today."""
        return any(said.verdict not in ("same", "not judged") for said in self.said)


def judge_again(log: Log, number: int | str, furnace: FurnaceDescription) -> Judgement:
    """Run a firing's raw words and inputs through today's watches and model.

    number: of the firing, or its heat number. furnace: as described today.

    Raises:
        InputRefused: there is no such firing, it is of another furnace, or it has nothing to judge.
    """
    firing = log.firing(number)
    if firing.furnace != furnace.name:
        raise InputRefused(
            f"Firing {firing.id} was on the furnace {firing.furnace!r}, not {furnace.name!r}; name it with --furnace."
        )
    rows = log.samples(firing.id)
    if not rows:
        raise InputRefused(f"Firing {firing.id} has no samples: there is nothing to judge.")
    at_rest = first_reading(rows)
    if at_rest is None:
        raise InputRefused(f"Firing {firing.id} has no reading: there is nothing to judge.")
    frozen, remarks = log.frozen(firing.id), []
    if frozen.get("furnace_digest") != furnace.digest:
        remarks.append("The furnace file has changed since: it is judged by today's.")
    used, commissioning = _models(log, firing, frozen, furnace, remarks)
    record = again.Firing(
        firing.id,
        _profile(firing, frozen, furnace, remarks),
        frozen,
        log.events(firing.id),
        log.commands(firing.id),
        None if used is None else used.model,
        None if commissioning is None else commissioning.model,
        _quiet_before_s(log, firing.id),
        firing.backend == "simulated",
        at_rest,
    )
    done_s = sorted(row["t_ms"] / 1000.0 for row in record.events if row["kind"] in SWITCHES)
    recorded = cycles(_with_the_end(rows, firing), done_s, began_s=again.BEGAN_S, pulses_per_kwh=furnace.pulses_per_kwh)
    try:
        today = list(again.again(record, furnace, recorded))
    except (ValueError, KeyError) as problem:
        raise InputRefused(f"Firing {firing.id} cannot be judged: {problem}.") from problem
    then = _then(log, firing.id)
    lacks = dict(NOT_IN_THE_LOG)
    if len(furnace.wiring.sensors) > 1 and all(row["second_word"] is None for row in rows):
        lacks |= OLDER_LOG
    learned_from = () if used is None else tuple(used.model.learned_from)
    ids = {watch.id for watch in WATCHES}
    not_judged = {name: why for name, why in lacks.items() if name in ids}
    return Judgement(firing, compare(then, today, lacks), not_judged, tuple(remarks), learned_from)


def _with_the_end(rows: Sequence[Any], firing: Firing) -> list[Any]:
    """The cycle that closed a firing has no row of its own: it is as the one before, with the contactor proved open."""
    last, ended_s = dict(rows[-1]), firing.lasted_s
    if ended_s is None or not 0.0 < ended_s - last["t_s"] <= LAST_ROW_S:
        return list(rows)
    return [*rows, {**last, "t_s": ended_s, "inputs": last["inputs"] & ~(3 << _MIRROR_AT) | 1 << _MIRROR_AT}]


def _quiet_before_s(log: Log, firing_id: int) -> float:
    """How long the program had run when the firing started, or how long ago the firing before it had ended, s."""
    (row,) = log.rows(
        "SELECT f.started_monotonic_ms - coalesce((SELECT max(c.monotonic_ms) FROM clock c WHERE c.boot_id = f.boot_id"
        " AND c.reason IN ('start', 'firing closed') AND c.monotonic_ms <= f.started_monotonic_ms), 0) AS ms"
        " FROM firing f WHERE f.id = ?",
        firing_id,
    )
    return max(0.0, float(row["ms"]) / 1000.0)


def compare(then: Sequence[Spoke], today: Sequence[Spoke], lacks: Mapping[str, str]) -> tuple[Said, ...]:
    """Set what was said then beside what would be said today, watch by watch, in the order of time.

    lacks: watches that cannot be judged again.
    """
    found: list[Said] = []
    for watch in dict.fromkeys(spoke.watch for spoke in (*then, *today)):
        title = TEXTS[watch].title if watch in TEXTS else watch
        was = [spoke for spoke in then if spoke.watch == watch]
        if watch in lacks:
            found += [Said(watch, title, "not judged", each.t_s, None, each.evidence, "") for each in was]
            continue
        is_ = [spoke for spoke in today if spoke.watch == watch]
        for one, other in _paired(was, is_):
            found.append(
                Said(
                    watch,
                    title,
                    _verdict(one, other),
                    None if one is None else one.t_s,
                    None if other is None else other.t_s,
                    "" if one is None else one.evidence,
                    "" if other is None else other.evidence,
                )
            )
    return tuple(sorted(found, key=lambda said: _first_s(said)))


def _paired(was: list[Spoke], is_: list[Spoke]) -> list[tuple[Spoke | None, Spoke | None]]:
    """Those at the same time together; then, in order, those whose time has moved; the rest alone."""
    left = list(is_)
    pairs: dict[int, Spoke] = {}
    for within_s in (SAME_WITHIN_S, float("inf")):
        for number, one in enumerate(was):
            near = [other for other in left if abs(other.t_s - one.t_s) <= within_s]
            if number not in pairs and near:
                pairs[number] = min(near, key=lambda other: abs(other.t_s - one.t_s))
                left.remove(pairs[number])
    return [(one, pairs.get(number)) for number, one in enumerate(was)] + [(None, other) for other in left]


def _verdict(then: Spoke | None, today: Spoke | None) -> str:
    if then is None:
        return "new"
    if today is None:
        return "no longer"
    if abs(today.t_s - then.t_s) <= SAME_WITHIN_S:
        return "same"
    return "earlier" if today.t_s < then.t_s else "later"


def _first_s(said: Said) -> float:
    return min(at_s for at_s in (said.then_s, said.today_s) if at_s is not None)


def _then(log: Log, firing_id: int) -> list[Spoke]:
    """What was said in the firing, alarms and silent findings."""
    alarms = [
        Spoke(row["watch"], row["t_ms"] / 1000.0, row["evidence"])
        for row in log.alarms(firing_id)
        if row["step"] == "raised"
    ]
    findings = [
        Spoke(row["detail"]["watch"], row["t_ms"] / 1000.0, row["detail"]["evidence"])
        for row in log.events(firing_id)
        if row["kind"] == "finding" and row["detail"].get("step") == "raised"
    ]
    return sorted([*alarms, *findings], key=lambda spoke: spoke.t_s)


def _profile(firing: Firing, frozen: dict[str, Any], furnace: FurnaceDescription, remarks: list[str]) -> Profile:
    """The profile as it was started, by its own text where today's meltkeeper still takes it."""
    charge = None if frozen.get("charge") is None else Charge(**frozen["charge"])
    try:
        profile = profile_from_text(frozen.get("profile_toml", ""), "its profile", furnace)
    except InputRefused:
        remarks.append("Its profile's text is not kept, or not read today: judged by its top temperature alone.")
        top_c, longest_s = float(frozen.get("top_c", furnace.top_c)), float(frozen.get("longest_s", 12 * 3600.0))
        segments = (Ramp(top_c - 20.0, 300.0, None), Hold(longest_s, None, False))
        profile = Profile(firing.profile, segments, top_c, None, longest_s, charge, "")
    return replace(again.at_its_start(profile, frozen), charge=charge)


def _models(
    log: Log, firing: Firing, frozen: dict[str, Any], furnace: FurnaceDescription, remarks: list[str]
) -> tuple[Kept | None, Kept | None]:
    """The model that the firing used, and the first one of this furnace by then."""
    told = frozen.get("model")
    if told is None:
        return None, None
    kept = [each for each in models(log, furnace).kept if each.row.utc_ms <= firing.started_utc_ms]
    used = next((each for each in kept if list(each.model.learned_from) == list(told["learned_from"])), None)
    if used is None:
        remarks.append(
            "The model that it used is not in this log, or of other parts: judged as if nothing were learned."
        )
        return None, None
    first = [each for each in kept if each.row.adopted and len(set(each.model.learned_from)) >= LEAST_FIRINGS]
    return used, first[-1] if first else None
