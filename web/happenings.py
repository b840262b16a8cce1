"""What changed between two snapshots, in sentences: shown to a phone that comes back, before any control."""

from collections.abc import Iterator
from typing import Any

STATES = {
    "stopped": "Stopped.",
    "idle": "Idle, with a profile chosen.",
    "starting": "Starting.",
    "running": "Running.",
    "holding": "Going to a hold.",
    "held": "Held.",
    "stopping": "Stopping.",
    "completing": "The last segment is done.",
    "complete": "Complete.",
    "aborting": "A watch ended the firing.",
    "aborted": "Ended by a watch: nothing heats before a reset at the furnace.",
}
"""The states as sentences."""

_GATE = {
    "asked": "The gate asked for a press.",
    "open": "The gate was opened by a press.",
    "shut": "The gate shut.",
}


def happenings(before: dict[str, Any], after: dict[str, Any]) -> Iterator[str]:
    """Yield a sentence for each change that a person would want to have been told."""
    if (before["boot"], before["run"]) != (after["boot"], after["run"]):
        yield "The supervisor was started anew."
    if before["state"] != after["state"] or before["held"] != after["held"]:
        by = {"you": "Held by you.", "watch": "Held by a watch."}.get(after["held"] or "")
        yield by if by and after["state"] == "held" else STATES[after["state"]]
    yield from _alarms(before["alarms"], after["alarms"])
    gate = after["gate"]["state"]
    if before["gate"]["state"] != gate and gate in _GATE:
        yield _GATE[gate]
    lid = after["inputs"].get("lid")
    if before["inputs"].get("lid") != lid and lid in {"open", "closed"}:
        yield "The lid was opened." if lid == "open" else "The lid was shut."


def _alarms(before: list[dict[str, Any]], after: list[dict[str, Any]]) -> Iterator[str]:
    earlier = {alarm["id"]: alarm for alarm in before}
    now = {alarm["id"] for alarm in after}
    for alarm in after:
        if alarm["id"] not in earlier:
            yield f"Alarm: {alarm['sentence']}"
        elif alarm["state"] != earlier[alarm["id"]]["state"]:
            yield f"{alarm['sentence']} Now {alarm['state']}."
    for alarm in before:
        if alarm["id"] not in now:
            yield f"{alarm['sentence']} Over."
