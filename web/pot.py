"""The pot: what its drawing shows, no more than is known; whether metal or a probe may go into it now."""

from typing import Any

POTS = ("begun", "1", "2", "3", "nearly")
"""By quarters molten, while it melts."""
LIVE_STATES = frozenset({"starting", "running", "holding", "held", "completing"})
"""A firing is on."""


def pot_of(s: dict[str, Any], metal: dict[str, Any] | None, *, live: bool) -> str:
    """'none', 'unknown', 'solid', 'begun', '1', '2' or '3' quarters molten, 'nearly' or 'liquid'.

    s: a snapshot that is not old; metal: its estimate without a doubt. Nobody has looked into the pot: 'none' is said
    only while a firing without metal runs, and at rest after somebody said that all of it was poured.
    """
    if s["pot_drained"] and s["state"] in {"stopped", "complete"} and not s["may_be_liquid"]:
        return "none"
    if metal is not None:
        if metal["quarters"] is None:
            return "unknown"
        return {"solid": "solid", "liquid": "liquid"}.get(metal["phase"], POTS[metal["quarters"]])
    left = s["aftermath"]
    if s["may_be_liquid"] or (left is not None and left["metal"]["state"] != "solid"):
        return "unknown"
    if left is not None:
        return "solid"
    if s["left_open"]:
        return "unknown"
    if s["charge"] is not None:
        return "solid"
    return "none" if live else "unknown"


def not_to_add(s: dict[str, Any]) -> str:
    """Why no metal may go into the pot now, whatever the metal is; empty: its firing is on. s: a snapshot."""
    left = s["aftermath"]
    if left is not None:
        return " ".join([left["happened"], left["metal"]["sentence"], *left["do_not"][:1]])
    if s["left_open"]:
        return f"{s['left_open']} What is in the pot is not known."
    if s["firing"] is None:
        return "No melt runs now. What goes in before a start is planned and weighed as its charge."
    if s["charge"] is None:
        return "It is a firing without metal."
    if s["state"] not in LIVE_STATES or s["state"] == "completing":
        thrown = " A cold or damp piece on metal that is liquid inside throws it." if s["may_be_liquid"] else ""
        return f"The firing is over: nothing heats what goes in now.{thrown}"
    return ""


def may_dip(s: dict[str, Any]) -> bool:
    """A probe has something to find: metal in a firing that is on, or that perhaps is liquid still. s: a snapshot."""
    if s["aftermath"] is not None or s["left_open"] or s["charge"] is None:
        return False
    return s["may_be_liquid"] or not not_to_add(s)
