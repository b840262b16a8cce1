"""What the snapshot says of when to be back: an hour that the gate does not ask before, or why there is none.

It is never a forecast of melting: nothing melts before somebody has pressed, however wrong the hour is.
"""

from typing import Any

from hardware.ports import Level
from supervisor.cycle import Memory
from supervisor.firing.back import OWNS_UP_FOR_S, BackBy
from supervisor.firing.firing import Run
from supervisor.firing.states import State

WITHIN_MIN = 20
"""Without a clock that can be trusted no hour is said, and nobody stays away longer than this."""
FAR = "Be no further away than five minutes."
OTHERWISE = "Nothing melts until you press."


def back(memory: Memory) -> dict[str, Any]:
    """The part of the snapshot; docs/link.md says what it holds."""
    why, kept = why_not(memory), memory.firing.back
    by_s = kept.standing_s(memory.firing.attendance.due_s)
    if why or by_s is None or not _ahead(memory):
        return {**dict.fromkeys(("in_s", "within_min", "limit", "moved")), "why_not": why, "far": "", "otherwise": ""}
    in_s = max(0.0, by_s - memory.belief.monotonic_s)
    trusted = memory.firing.reach.utc_ms is not None
    return {
        "in_s": in_s,
        "within_min": None if trusted else min(WITHIN_MIN, int(in_s // 60.0)),
        "limit": kept.limit,
        "why_not": "",
        "far": FAR,
        "otherwise": OTHERWISE,
        "moved": _moved(kept, memory.belief.monotonic_s),
    }


def why_not(memory: Memory) -> str:
    """Why no hour is said while a gate is ahead; empty: one is, or none is to be said: nothing heats, or no gate."""
    firing, run = memory.firing, memory.firing.run
    if run is None or not _ahead(memory):
        return ""
    if firing.reach.why_not:
        return firing.reach.why_not
    if memory.adviser.model is None:
        return "Nothing is learned of this furnace yet."
    if memory.sample is None or memory.sample.inputs.lid is Level.NOT_FITTED:
        return "No lid switch is fitted: nobody away from it would know."
    reckoned = firing.back.gate_s is not None
    return _doubt(memory, run) or ("" if reckoned else "How soon the gate asks is not reckoned yet.")


def _ahead(memory: Memory) -> bool:
    """A firing goes on, and its gate is shut, with nothing that may be liquid behind it."""
    run = memory.firing.run
    running = memory.firing.state is State.RUNNING and run is not None and not memory.furnace.looks_only
    return running and run is not None and run.gate.shut and not run.gate.may_be_liquid


def _doubt(memory: Memory, run: Run) -> str:
    """The first doubt that stands: with any of them nobody goes away."""
    if memory.belief.reading is None:
        return "There is no reading in this moment."
    if memory.sample is not None and memory.sample.inputs.lid is Level.OPEN:
        return "The lid is open."
    finding = any(standing.shown for standing in memory.alarms.standing.values())
    if finding:
        return "A watch has spoken: see what it says."
    if run.mass_doubt is not None:
        return "What is in the pot is doubted."
    adviser = memory.adviser
    if adviser.doubt or (adviser.estimate is not None and adviser.estimate.doubt):
        return adviser.doubt or (adviser.estimate.doubt if adviser.estimate is not None else "")
    return ""


def _moved(kept: BackBy, now_s: float) -> dict[str, Any] | None:
    if kept.moved_s is None or now_s - kept.moved_s > OWNS_UP_FOR_S:
        return None
    return {"by_s": round(kept.moved_by_s), "because": kept.because, "ago_s": now_s - kept.moved_s}
