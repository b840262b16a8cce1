"""What trouble has left, for whoever looks now: what happened, how long, what the metal may be, what not to do."""

from math import isfinite
from typing import Any

from supervisor.alarms.texts import TEXTS
from supervisor.cycle import Memory
from supervisor.firing.aftermath import OF_EARLIER_RUNS, Aftermath, Ended
from supervisor.firing.solid import SOLID_BELOW_C
from supervisor.link.metal import pot_drained

_HAPPENED = {
    Ended.POWER: "The computer lost its supply, or was started anew",
    Ended.KILLED: "The supervisor's program ended without a word; the computer ran on",
    Ended.FAULT: "The supervisor's program ended on an error of its own",
    Ended.SUPPLY: "Mains or the chain's 24 V went away; the computer ran on",
    Ended.OFTEN: "The supervisor's program was begun again and again",
}

_LIQUID_NOT = (
    "Do not add charge: a cold or damp piece on metal that is liquid inside throws it.",
    "Do not open the lid to look, and do not move the pot.",
)
_FROZEN_NOT = ("Do not add charge on a frozen pot: metal shut in under it can spit when it melts.",)
GENTLE = "A new firing on it climbs at 300 °C/h at most up to 500 °C, and without boost."


def perhaps_liquid(memory: Memory) -> bool:
    """Metal may be liquid inside."""
    return memory.firing.perhaps_liquid


def parts(memory: Memory) -> dict[str, Any]:
    """The parts of the snapshot that speak of it."""
    firing = memory.firing
    found = firing.aftermath
    waits = firing.left_open is not None or memory.alarms.latched
    asks = ["found", "looked", "seen"] if memory.alarms.reaction.keep_away else ["found"]
    return {
        "aftermath": None if found is None or not waits else _told(memory, found),
        "reset_needs": asks if waits else [],
    }


def _told(memory: Memory, found: Aftermath) -> dict[str, Any]:
    metal = _metal(memory, found)
    return {
        "ended": found.ended.value,
        "happened": _happened(memory, found),
        "lasted": _lasted(memory, found),
        "name": found.name,
        "was": found.was,
        "before_c": found.before_c,
        "ended_utc_ms": found.ended_utc_ms,
        "metal": metal,
        "do_not": _do_not(metal["state"]),
        "then": GENTLE if memory.firing.leaves_cut_metal and not pot_drained(memory.firing) else "",
    }


def _happened(memory: Memory, found: Aftermath) -> str:
    if found.ended is Ended.UNKNOWN:
        return memory.firing.left_open or TEXTS["past-unknown"].sentence
    if found.ended is Ended.TRIP:
        trips = [name for name, each in memory.alarms.standing.items() if each.latched and name not in OF_EARLIER_RUNS]
        sentence = TEXTS[trips[0]].sentence if trips else TEXTS["trip-left"].sentence
        return f"A watch ended it. {sentence}"
    why = f" ({found.why})" if found.ended is Ended.FAULT and found.why else ""
    return f"{_HAPPENED[found.ended]}{why}."


def _lasted(memory: Memory, found: Aftermath) -> dict[str, Any]:
    """How long it was from the end to when somebody watched again, and how sure that is."""
    if found.ended in (Ended.UNKNOWN, Ended.TRIP, Ended.OFTEN):
        return {"s": None, "at_least": False, "words": ""}
    if found.lasted_s is None:
        so_far_s = memory.belief.monotonic_s - found.back_s
        return {"s": so_far_s, "at_least": True, "words": f"{duration(so_far_s)} so far: it has not come back"}
    if found.at_least:
        at_least_s = found.lasted_s + memory.belief.monotonic_s - found.back_s
        words = f"at least {duration(at_least_s)}: the computer's clock cannot say how long"
        return {"s": at_least_s, "at_least": True, "words": words}
    return {"s": found.lasted_s, "at_least": False, "words": duration(found.lasted_s)}


def _metal(memory: Memory, found: Aftermath) -> dict[str, Any]:
    firing, now_s = memory.firing, memory.belief.monotonic_s
    in_s = firing.cooling.solid_from_s - now_s
    if firing.perhaps_liquid:
        known = isfinite(in_s) and in_s > 0.0
        until = f"until the chamber reads below {SOLID_BELOW_C:.0f} °C"
        if known:
            until = f"for another {duration(in_s)} at the latest"
        elif firing.cooling.doubted:
            until = "and nothing here can say for how long"
        sentence = f"Metal may be liquid inside, {until}."
        return {"state": "may be liquid", "sentence": sentence, "solid_in_s": in_s if known else None}
    if pot_drained(firing):
        return {"state": "drained", "sentence": "The pot was poured: nothing in it is liquid.", "solid_in_s": 0.0}
    if found.ended is Ended.UNKNOWN:
        return {"state": "solid", "sentence": "Whatever is in the pot is solid.", "solid_in_s": 0.0}
    if not found.had_metal:
        return {"state": "none", "sentence": "It was a firing without metal.", "solid_in_s": 0.0}
    return {"state": "solid", "sentence": "What is in the pot is solid.", "solid_in_s": 0.0}


def _do_not(state: str) -> list[str]:
    if state == "may be liquid":
        return list(_LIQUID_NOT)
    return list(_FROZEN_NOT) if state == "solid" else []


def duration(seconds: float) -> str:
    """'40 s', '12 min', '3 h 5 min', '2 days'."""
    if seconds < 90.0:
        return f"{max(0.0, seconds):.0f} s"
    minutes = round(seconds / 60.0)
    if minutes < 90:
        return f"{minutes} min"
    if minutes < 48 * 60:
        return f"{minutes // 60} h {minutes % 60} min"
    return f"{minutes // (24 * 60)} days"
