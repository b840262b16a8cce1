"""The headline while all is solid and the gate is ahead: when to be back, or why nobody goes away."""

from typing import Any

from supervisor.cycle import Memory
from supervisor.firing.back import SIGN
from supervisor.firing.firing import Run
from supervisor.link.back import OTHERWISE, back
from supervisor.link.saying import Headline

LEAST_S = 60.0
"""Nearer than this an hour is of no use: come now."""


def be_back(memory: Memory) -> Headline:
    """Be back by an hour, within minutes where no clock is to be trusted, or stay."""
    found = back(memory)
    if found["why_not"]:
        return Headline("Heating, all solid.", "Stay.", _first_sentence(found["why_not"]), "stay")
    if found["in_s"] is None:
        return Headline("Heating, all solid.", "Stay.", "How soon the gate asks is not reckoned yet.", "stay")
    if found["in_s"] < LEAST_S:
        what = "a sign is due." if found["limit"] == SIGN else "the gate asks soon."
        return Headline("All solid. Be back", "now:", f"{what} {OTHERWISE}", "wanted")
    if found["within_min"] is not None:
        within = f"{found['within_min']} min:"
        return Headline("Heating, all solid. Be back within", within, f"the clock is not set. {OTHERWISE}", "calm")
    moved = found["moved"]
    if moved is None:
        return Headline("Heating, all solid. Be back by", "{hour}", OTHERWISE, "calm", found["in_s"])
    return Headline("All solid. Be back by", "{hour}", _owned_up(moved), "wanted", found["in_s"])


def gate_missed(memory: Memory, run: Run) -> Headline:
    """The gate has asked, and nobody has pressed: it waits, and asks again."""
    ends_s = run.began_s + run.longest_s - memory.belief.monotonic_s
    waits = f"at {run.gate.limit_c:.0f} °C. Heat ends {{hour}}."
    return Headline("Nobody pressed: it waits", "solid", waits, "stay", max(0.0, ends_s))


def _owned_up(moved: dict[str, Any]) -> str:
    """By how much a promise has moved, and why."""
    minutes = max(1, round(abs(moved["by_s"]) / 60.0))
    return f"{minutes} min {'sooner' if moved['by_s'] < 0 else 'later'}: {moved['because']}. {OTHERWISE}"


def _first_sentence(why: str) -> str:
    """Why, without what mends it: the page says that below."""
    end = why.find(". ")
    return why if end < 0 else why[: end + 1]
