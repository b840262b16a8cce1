"""What the pour screen says: likely ready or not, for how long, and whether anybody may look. It never orders to pour.

Hands are asked for by nothing but the contactor read open, with no finding and no doubt. A word about hands is gone in
the snapshot that has the first doubt.
"""

from typing import Any, NamedTuple

from supervisor.alarms.texts import TEXTS
from supervisor.cycle import Memory
from supervisor.firing.advise import pour_c
from supervisor.firing.firing import Run
from supervisor.firing.states import State
from supervisor.link import coarse
from supervisor.link.saying import Headline, likely_ready, proved_off

WITHDRAWN_FOR_S = 900.0
"""So long it is said that it was ready, with heat off, and is no more."""
OVER_AFTER_S = 1800.0
"""Liquid for so long, metal takes up gas, and looking or letting cool has to be decided (our choice)."""
AT_REST = frozenset({State.STOPPED, State.COMPLETE})
LID = "lid"
SILENT_S = 0.6
"""Two frames without a reading; one is noise."""


class Pour(NamedTuple):
    """stage: none, not yet, doubt, withdrawn, heat off first, look, pouring. why: for doubt and withdrawn."""

    stage: str
    why: str = ""
    cooled: bool = False  # withdrawn by nothing but time


def pour(memory: Memory, metal: dict[str, Any] | None) -> dict[str, Any]:
    """The part of the snapshot; docs/link.md says what it holds. metal: the part of that name."""
    firing, now_s = memory.firing, memory.belief.monotonic_s
    found, window = stage(memory, metal), memory.firing.window
    left = window.minutes_left(now_s) if found.stage == "look" else None
    off_s = firing.enable_off_s
    open_for_s = None if off_s is None or not proved_off(memory) else now_s - off_s
    liquid_s = None if window.liquid_since_s is None else now_s - window.liquid_since_s
    return {
        "stage": found.stage,
        "why": found.why,
        "to_in_s": None if left is None else round(60.0 * left.likely),
        "left": None if left is None else _left(left.likely, left.low, left.high),
        "contactor_open": proved_off(memory),
        "open_for_s": open_for_s,
        "liquid_for_s": liquid_s,
        "moulds": list(window.moulds),
    }


def stage(memory: Memory, metal: dict[str, Any] | None) -> Pour:
    """Where the firing is on its way to the pour."""
    run, window, now_s = memory.firing.run, memory.firing.window, memory.belief.monotonic_s
    if run is None or run.profile.charge is None or run.poured:
        return Pour("none")
    if window.moulds:
        return Pour("pouring", _finding(memory))
    if not run.followed:
        return Pour("none")
    was_fit = window.was_fit_s is not None and now_s - window.was_fit_s <= WITHDRAWN_FOR_S
    doubt = _finding(memory) or ("" if metal is None else str(metal["doubt"]))
    if doubt:
        return Pour("withdrawn" if was_fit else "doubt", doubt)
    if metal is not None and metal["ready"]:
        return Pour("look" if proved_off(memory) else "heat off first")
    if was_fit and not window.fit:
        return Pour("withdrawn", _cold(memory, run, metal), cooled=(window.dip_off_k or 0.0) >= 0.0)
    return Pour("not yet")


def said(memory: Memory, metal: dict[str, Any] | None, then: str = "") -> Headline | None:
    """The headline of the pour; None: it has nothing to say of one. then: what comes after heat is off."""
    found, window, now_s = stage(memory, metal), memory.firing.window, memory.belief.monotonic_s
    if found.stage == "withdrawn" and found.cooled and memory.firing.state in AT_REST:
        return None  # when it freezes matters more
    if found.stage == "withdrawn":
        return Headline("", "Not", f"ready after all: {_lower(found.why)} Lid shut.", "stay")
    if found.stage not in ("look", "heat off first"):
        return None
    over = window.liquid_since_s is not None and now_s - window.liquid_since_s > OVER_AFTER_S
    if found.stage == "look" and over:
        minutes = round((now_s - (window.liquid_since_s or now_s)) / 60.0)
        return Headline(
            "Heat off, proved. Likely liquid", f"{minutes} min:", "it takes up gas. Look, or let cool?", "stay"
        )
    return likely_ready(memory, then)


def _finding(memory: Memory) -> str:
    """The first finding that stands or that nobody has seen, as a sentence; the open lid is what a look needs."""
    if memory.belief.monotonic_s - memory.belief.good_s > SILENT_S:  # at rest no watch calls for a reading
        return "The sensor gives no reading."
    for name, standing in memory.alarms.standing.items():
        if name != LID and (standing.stands or standing.shown):
            return TEXTS[name].sentence
    return ""


def _cold(memory: Memory, run: Run, metal: dict[str, Any] | None) -> str:
    """Why metal that was likely ready is so no more, without any finding."""
    off_k = memory.firing.window.dip_off_k
    if off_k is not None and off_k < 0.0:
        return f"The dip is {-off_k:.0f} K low."
    if metal is None or metal["about_c"] is None:
        return "The metal is not known."
    return f"It is likely below {pour_c(run.profile):.0f} °C, where it pours."


def _left(likely: float, low: float, high: float) -> dict[str, Any]:
    return {"min": max(0, int(likely)), "give_min": coarse.give_or_take(likely, low, high)}


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]
