"""What the drawing of the pot shows: no more than is known, and nothing on an old page."""

from typing import Any

POTS = ("begun", "1", "2", "3", "nearly")
"""By quarters molten, while it melts."""


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
