"""From everything that came of a drill to figures with stable names. Everything in them is simulated."""

from collections import Counter
from collections.abc import Iterable, Sequence
from math import inf
from statistics import median
from typing import Any

from supervisor.rehearsal.drill.campaign import Drilled, labels
from supervisor.rehearsal.drill.cases import TARGETS
from supervisor.rehearsal.drill.counts import poisson_upper, quantile
from supervisor.rehearsal.drill.firings import ENDED_WELL, Healthy
from supervisor.rehearsal.drill.hit import Hit
from supervisor.rehearsal.drill.trial import REACTIONS, Said
from supervisor.watches.finding import Then
from supervisor.watches.rows import FAMILIES

MOST_SHOWN = 40
HOT_C = 550.0
"""From here on a sheath is quick enough for a slip to be known within five seconds: docs/watches.md."""
Spread = dict[str, float | None]


def figures(found: Drilled) -> dict[str, Any]:
    """The whole report as one object."""
    wish, hits = found.wish, found.hits
    sure = [hit for hit in hits if hit.limit_s is not None]
    spoken = [hit for hit in sure if hit.first is not None]
    return {
        "simulated": True,
        "furnace": wish.subject.furnace.name,
        "title": wish.subject.furnace.title,
        "plant": wish.subject.plant,
        "fitted": list(wish.subject.fitted),
        "learned": found.learned,
        "learned_from_melts": wish.subject.melts,
        "furnaces": found.furnaces,
        "seed": wish.seed,
        "cases": len(hits),
        "cases_detectable": len(sure),
        "cases_without_their_moment": len(found.left),
        "missed": sum(hit.missed for hit in sure),
        "first_cause_right": _share(sum(hit.right for hit in spoken), len(spoken)),
        "alarms_in_10_min_worst": max((len(hit.alarms) for hit in hits), default=0),
        "cases_with_more_than_3_alarms": sum(len(hit.alarms) > 3 for hit in hits),
        "faults": {label: row for label in TARGETS if (row := _fault(found, label)) is not None},
        "misses": [_case(hit) for hit in sure if hit.missed][:MOST_SHOWN],
        "wrong_first_causes": [_case(hit) for hit in spoken if not hit.right][:MOST_SHOWN],
        "healthy": healthy(found.healthy),
        "undisturbed": healthy(found.undisturbed),
        "not_noticeable": not_noticeable(found),
    }


def _fault(found: Drilled, label: str) -> dict[str, Any] | None:
    hits, target = [hit for hit in found.hits if hit.label == label], TARGETS[label]
    if not hits:
        return None
    counted = [hit for hit in hits if hit.counted_s is not None]
    metal_k = [hit.metal_over_k for hit in hits if hit.metal_over_k is not None]
    gained_k = [
        hit.metal_over_k - max(0.0, hit.metal_was_over_k or 0.0) for hit in hits if hit.metal_over_k is not None
    ]
    return {
        "row": target.row_name,
        "title": target.row.title,
        "injected": target.injected.name,
        "value": target.injected.value,
        "cases": len(hits),
        "detectable": hits[0].limit_s is not None,
        "limit_s": hits[0].limit_s,
        "counted_from": target.row.counted,
        "missed": sum(hit.missed for hit in hits) if hits[0].limit_s is not None else None,
        "not_noticed_share": _share(sum(hit.noticed_s is None for hit in counted), len(counted)),
        "noticed_by": dict(Counter(hit.first for hit in hits if hit.first).most_common()),
        "noticed_s": spread([hit.noticed_s for hit in counted]),
        "relay_low_s": spread([_off(hit, "relay") for hit in counted]),
        "relay_low_from_550_c_s": spread([_off(hit, "relay") for hit in counted if (hit.reading_c or 0.0) >= HOT_C]),
        "contactor_open_s": spread([_off(hit, "contactor") for hit in counted]),
        "noticed_from_fault_s": spread([_from_fault(hit) for hit in counted]),
        "contactor_open_from_fault_s": spread([hit.off_s.get("contactor") for hit in counted]),
        "contactor_open_from_relay_off_s": spread([_from_relay_off(hit) for hit in counted]),
        "reading_rise_k": spread([hit.rise_k for hit in counted if hit.noticed_s is not None]),
        "hot_face_over_target_worst_k": round(max(hit.hot_face_over_k for hit in hits), 1),
        "metal_over_target_worst_k": round(max(metal_k), 1) if metal_k else None,
        "metal_over_by_fault_worst_k": round(max(gained_k), 1) if gained_k else None,  # by it alone
        "metal_over_by_fault_median_k": round(median(gained_k), 1) if gained_k else None,
        "first_cause_right": _share(sum(hit.right for hit in hits), sum(hit.first is not None for hit in hits)),
        "alarms_in_10_min": spread([float(len(hit.alarms)) for hit in hits]),
    }


def _off(hit: Hit, line: str) -> float | None:
    """Seconds on the row's own clock until this line went off for good."""
    off_s = hit.off_s.get(line)
    return None if off_s is None or hit.counted_s is None else max(0.0, off_s - hit.counted_s)


def _from_relay_off(hit: Hit) -> float | None:
    """Before the relay was first told off, nobody could have seen that it does not obey."""
    open_s = hit.off_s.get("contactor")
    return None if open_s is None or hit.told_off_s is None else max(0.0, open_s - hit.told_off_s)


def _from_fault(hit: Hit) -> float | None:
    return None if hit.noticed_s is None or hit.counted_s is None else hit.noticed_s + hit.counted_s


def _case(hit: Hit) -> dict[str, Any]:
    """Enough to see what happened, and to do it again."""
    return {
        "fault": hit.label,
        "when": hit.when,
        "furnace_seed": hit.furnace_seed,
        "firing_seed": hit.seed,
        "minute": hit.minute,
        "reading_c": None if hit.reading_c is None else round(hit.reading_c, 1),
        "duty": hit.duty,
        "first": hit.first,
        "first_s": hit.first_s,
        "evidence": hit.evidence,
        "noticed_s": hit.noticed_s,
        "limit_s": hit.limit_s,
        "alarms": list(hit.alarms),
        "followed": list(hit.followed),
    }


def healthy(firings: Sequence[Healthy]) -> dict[str, Any]:
    """False alarms by the hour, each with its one-sided 95 % bound."""
    hours = sum(firing.hours for firing in firings)
    alarms = [(firing, said) for firing in firings for said in firing.said if _false(said)]
    counts = {
        "false_trips": sum(REACTIONS[said.watch].then is Then.ABORT for _, said in alarms),
        "false_holds": sum(REACTIONS[said.watch].then in (Then.HOLD, Then.STOP) for _, said in alarms),
        "false_any": len(alarms),
    }
    found: dict[str, Any] = {"firings": len(firings), "hours": round(hours, 2)}
    for name, count in counts.items():
        found[name] = count
        found[f"{name}_per_1000h"] = round(1000 * count / hours, 2) if hours else None
        found[f"{name}_per_1000h_bound"] = round(1000 * poisson_upper(count) / hours, 2) if hours else None
    clean = [firing for firing in firings if firing.melt and firing.ended == ENDED_WELL]
    heated_s = sum(firing.heated_s for firing in firings)
    found["alarms_per_clean_melt_median"] = (
        median(sum(_false(said) for said in firing.said) for firing in clean) if clean else None
    )
    found["suppressed_share"] = _share(sum(firing.suppressed_s for firing in firings), heated_s)
    found["unfinished"] = sum(firing.ended != ENDED_WELL for firing in firings)
    found["by_watch"] = dict(Counter(said.watch for _, said in alarms).most_common())
    found["alarms"] = [_alarm(firing, said) for firing, said in alarms][:MOST_SHOWN]
    return found


def _false(said: Said) -> bool:
    """Alarms and advice; an open lid is neither."""
    return said.priority > 0


def _alarm(firing: Healthy, said: Said) -> dict[str, Any]:
    return {
        "watch": said.watch,
        "minute": round(said.time_s / 60.0, 1),
        "evidence": said.evidence,
        "furnace_seed": firing.furnace_seed,
        "firing_seed": firing.seed,
        "profile": firing.profile,
        "happenings": firing.happenings,
        "ended": firing.why,
    }


def not_noticeable(found: Drilled) -> list[dict[str, Any]]:
    """Rows that no watch can be counted on to notice on this furnace, with what stands in for it."""
    rows = []
    sure, _ = labels(found.wish.subject, learned=found.learned)
    noticed = {TARGETS[label].row_name for label in sure}
    for family, of_it in FAMILIES.items():
        for name, row in of_it.items():
            if name in noticed or row.detectable(found.wish.subject.fitted, learned=found.learned):
                continue
            why = f"no {row.part.replace('-', ' ')} is fitted" if row.part else row.why_not
            rows.append({"row": name, "family": family, "title": row.title, "why": why, "instead": row.instead})
    return rows


def spread(seconds: Iterable[float | None]) -> Spread:
    """Median, 90 % and worst; None where it never came."""
    known = sorted(inf if value is None else value for value in seconds)
    if not known:
        return {"median": None, "p90": None, "worst": None}
    values = {"median": quantile(known, 0.5), "p90": quantile(known, 0.9), "worst": known[-1]}
    return {name: None if value == inf else round(value, 2) for name, value in values.items()}


def _share(count: int, of: int) -> float | None:
    return round(count / of, 4) if of else None
