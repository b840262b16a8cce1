"""From what the log says of the run before this one to what stands now. Pure: rows, boot ids and clocks in, no disk.

What cannot be told apart for certain is told as the graver of the two.
"""

from math import inf
from typing import Any, NamedTuple

from supervisor.alarms.texts import TEXTS
from supervisor.firing.aftermath import (
    BEGUN_TOO_OFTEN,
    CUT_SHORT,
    OF_EARLIER_RUNS,
    TRIP_LEFT,
    Aftermath,
    Ended,
    Latched,
    Left,
    Part,
    is_latching,
)
from supervisor.firing.cooling import HOTTER_K
from supervisor.firing.gate import BELOW_SOLIDUS_K, UNKNOWN_METAL_C
from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook.earlier import Earlier, Metal, Moment
from supervisor.logbook.left_open import PAST_UNKNOWN, closed_after_reset
from supervisor.logbook.records import AlarmRow, EventRow, FiringClosed
from supervisor.metal.enthalpy import enthalpy_j_kg
from supervisor.watches import DOUBTS_THE_SENSOR

UNWRITTEN_S = 15.0
"""So much of a firing's end may be missing from the log: a batch of samples, and what its disk takes."""

SAME_CYCLE_MS = 5000

_LEAST_OF_THE_MASS = 0.25
"""Less than this share of what was entered is in no pot (our choice)."""


class Now(NamedTuple):
    """This run, as it begins."""

    boot_id: str
    monotonic_s: float  # process time
    utc_ms: int
    trusted: bool  # that label
    restarts: int = 0  # how often the program was begun anew of late
    too_often: bool = False


def left_by(earlier: Earlier, now: Now, furnace: FurnaceDescription, *, drained: bool) -> Left:
    """What stands as this run begins."""
    latched, sentence = _latched(earlier, now), _sentence(earlier, now)
    aftermath = None if sentence is None else _what_happened(earlier, now)
    metal = earlier.metal
    unknown = any(each.watch == PAST_UNKNOWN for each in latched)
    if unknown:
        liquid, heated_s, hottest_c, doubted = not drained, now.monotonic_s, furnace.limiter_c + HOTTER_K, False
        seen_s = heated_s
    elif metal is None or metal.poured or metal.found_solid:
        liquid, heated_s, hottest_c, doubted = False, float("-inf"), 0.0, False
        seen_s = heated_s
    else:
        doubted = bool(metal.findings & DOUBTS_THE_SENSOR) or metal.no_reading
        liquid = _may_be_liquid(metal, furnace, doubted=doubted)
        since_s, _ = _since(metal.end, now)
        unseen_s = 0.0 if metal.state is not None else UNWRITTEN_S
        heated_s = min(now.monotonic_s, now.monotonic_s - since_s + unseen_s)
        seen_s = heated_s if _same_clock(metal.end, now) else now.monotonic_s
        hottest_c = max((metal.peak_c or 0.0) + HOTTER_K, furnace.limiter_c + HOTTER_K if doubted else 0.0)
    return Left(
        latched=latched,
        sentence=sentence,
        aftermath=aftermath,
        liquid=liquid,
        heated_s=heated_s,
        seen_s=seen_s,
        hottest_c=hottest_c,
        doubted=doubted,
        drained=drained,
        cut_short=bool(earlier.left) or (metal is not None and metal.cut_short),
        to_prove=frozenset(Part(name) for name in earlier.to_prove if name in {part.value for part in Part}),
    )


def trips(earlier: Earlier) -> list[dict[str, Any]]:
    """Alarms of earlier runs that stand until the reset, oldest first.

    A trip comes with an abort. Without one, an old alarm by a watch that trips today, and did not then, is none.
    """
    firings = {abort["firing_id"] for abort in earlier.aborts}
    named = " ".join(str(abort["detail"].get("why", "")) for abort in earlier.aborts)
    since_ms = min((abort["utc_ms"] for abort in earlier.aborts), default=inf) - SAME_CYCLE_MS

    def tripped(row: dict[str, Any]) -> bool:
        return bool(earlier.aborts) and (
            row["firing_id"] in firings or row["watch"] in named or row["utc_ms"] >= since_ms
        )

    return [
        row for row in earlier.trips if row["watch"] in OF_EARLIER_RUNS or (is_latching(row["watch"]) and tripped(row))
    ]


def begins_with(earlier: Earlier, now: Now) -> list[AlarmRow | EventRow]:
    """What a run writes as it begins: the alarms that stand from now on and that no earlier run has written."""
    known = {row["alarm"] for row in earlier.trips}
    rows: list[AlarmRow | EventRow] = []
    for latched in _latched(earlier, now):
        alarm = f"{latched.watch}/{latched.number}"
        if latched.watch in OF_EARLIER_RUNS and alarm not in known:
            priority = TEXTS[latched.watch].priority
            t_ms = round(now.monotonic_s * 1000)
            rows.append(AlarmRow(None, t_ms, alarm, latched.watch, "raised", priority, latched.evidence, True, "start"))
    return rows


def after_reset(earlier: Earlier, t_ms: int) -> list[AlarmRow | FiringClosed]:
    """What ends the wait once the reset at the furnace was given: firings closed, and alarms that have no other way.

    The alarms that a run shows are reset by itself; of several by one watch it shows the newest.
    """
    shown = {latched.watch: f"{latched.watch}/{latched.number}" for latched in _trips_latched(earlier, 0.0)}
    return [
        *closed_after_reset(earlier.left),
        *(
        AlarmRow(
            None, t_ms, row["alarm"], row["watch"], "reset", row["priority"], row["evidence"], bool(row["first_out"]),
            "at the furnace",
        )
        for row in trips(earlier)
        if shown.get(row["watch"]) != row["alarm"]
        ),
    ]  # fmt: skip


# --- what stands --------------------------------------------------------------------------------------------------


def _trips_latched(earlier: Earlier, now_s: float) -> list[Latched]:
    found: dict[str, Latched] = {}
    for row in trips(earlier):
        if row["watch"] in TEXTS:
            number = int(row["alarm"].rpartition("/")[2] or 0)
            found[row["watch"]] = Latched(
                row["watch"], number, row["evidence"], bool(row["first_out"]), row["acknowledged"], now_s
            )
    return list(found.values())


def _latched(earlier: Earlier, now: Now) -> tuple[Latched, ...]:
    found = _trips_latched(earlier, now.monotonic_s)
    watches = {latched.watch for latched in found}
    strangers = [row for row in trips(earlier) if row["watch"] not in TEXTS]
    unnamed = None if earlier.left or watches - OF_EARLIER_RUNS or not earlier.aborts else earlier.aborts[-1]
    if (strangers or unnamed) and TRIP_LEFT not in watches:
        why = "; ".join(f"{row['watch']}: {row['evidence']}" for row in strangers)
        number = strangers[-1]["id"] if strangers else 0 if unnamed is None else unnamed["id"]
        why = why or str((unnamed or {"detail": {}})["detail"].get("why", ""))
        found.append(Latched(TRIP_LEFT, int(number), why, True, False, now.monotonic_s))
    if earlier.left and CUT_SHORT not in watches:
        firing = earlier.left[-1]
        found.append(Latched(CUT_SHORT, firing.firing_id, _names(earlier), True, False, now.monotonic_s))
    if now.too_often and BEGUN_TOO_OFTEN not in watches:
        evidence = f"begun {now.restarts + 1} times within 10 min"
        found.append(Latched(BEGUN_TOO_OFTEN, max(1, now.utc_ms // 1000), evidence, True, False, now.monotonic_s))
    return tuple(found)


def _names(earlier: Earlier) -> str:
    return ", ".join(firing.heat_number or firing.name for firing in earlier.left)


def _sentence(earlier: Earlier, now: Now) -> str | None:
    if earlier.left:
        return f"{_names(earlier)} ended without its closing record."
    latched = {each.watch: each for each in _latched(earlier, now)}
    if PAST_UNKNOWN in latched:
        return latched[PAST_UNKNOWN].evidence
    if BEGUN_TOO_OFTEN in latched:
        return f"The supervisor was {latched[BEGUN_TOO_OFTEN].evidence}. It stays stopped."
    of_watches = [each for each in latched.values() if each.watch not in OF_EARLIER_RUNS]
    if of_watches:
        first = next((each for each in of_watches if each.first_out), of_watches[0])
        return f"An earlier run ended in a trip that nobody has reset: {TEXTS[first.watch].sentence}"
    return "An earlier run ended in a trip that nobody has reset." if latched else None


# --- what happened ------------------------------------------------------------------------------------------------


def _what_happened(earlier: Earlier, now: Now) -> Aftermath:
    ended, why = _ended(earlier, now)
    found = Aftermath(ended, earlier.last_name, why, back_s=now.monotonic_s)
    if earlier.last is None or ended is Ended.UNKNOWN:
        return found
    found.lasted_s, known = _since(earlier.last, now)
    found.at_least = not known
    if ended is Ended.SUPPLY:  # when the program began anew says nothing of when the supply came back
        found.lasted_s, found.at_least = earlier.supply_back_s or 0.0, earlier.supply_back_s is None
    found.ended_utc_ms = earlier.last.utc_ms
    found.before_c, found.was, found.had_metal = earlier.last_c, earlier.last_state, earlier.last_had_metal
    return found


def _ended(earlier: Earlier, now: Now) -> tuple[Ended, str]:
    watches = [each.watch for each in _latched(earlier, now)]
    if PAST_UNKNOWN in watches:
        return Ended.UNKNOWN, ""
    if earlier.left and earlier.last is not None:
        if earlier.exception is not None:
            return Ended.FAULT, str(earlier.exception["detail"].get("why", ""))
        return (Ended.KILLED if _same_clock(earlier.last, now) else Ended.POWER), ""
    if BEGUN_TOO_OFTEN in watches:
        return Ended.OFTEN, ""
    why = next((each.evidence for each in _latched(earlier, now)), "")
    return (Ended.SUPPLY if "supply-lost" in watches else Ended.TRIP), why


def _same_clock(then: Moment, now: Now) -> bool:
    return then.boot_id == now.boot_id and now.monotonic_s * 1000 >= then.monotonic_ms


def _since(then: Moment, now: Now) -> tuple[float, bool]:
    """Seconds since then, and whether that is known; else it is at least so long."""
    if _same_clock(then, now):
        return now.monotonic_s - then.monotonic_ms / 1000.0, True
    if then.utc_ms is not None and now.trusted and now.utc_ms >= then.utc_ms:
        return (now.utc_ms - then.utc_ms) / 1000.0, True
    return 0.0, False


def _may_be_liquid(metal: Metal, furnace: FurnaceDescription, *, doubted: bool) -> bool:
    """At its end. What the last seconds did is not in the log of a firing that was cut."""
    limit_c = UNKNOWN_METAL_C if metal.unknown_added else float(metal.frozen.get("gate_c") or UNKNOWN_METAL_C)
    unseen_k = furnace.response.fastest_rise_c_per_s * UNWRITTEN_S if metal.state is None else 0.0
    solidus_c = limit_c + BELOW_SOLIDUS_K
    if metal.was_liquid or (metal.peak_c is not None and metal.peak_c + unseen_k >= solidus_c):
        return True
    charge = metal.frozen.get("charge") or {}
    least_kg = _LEAST_OF_THE_MASS * float(charge.get("mass_kg") or 0.0)
    melts_wh = least_kg * enthalpy_j_kg(solidus_c) / 3600.0
    return doubted and metal.energy_wh >= melts_wh
