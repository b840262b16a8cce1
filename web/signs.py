"""The sign that somebody is there, as the page says it: when it is due, who may give it, what happens without."""

from collections.abc import Callable
from typing import Any, NamedTuple

from web import words

NOT_WANTED = frozenset({"none", "not due"})
CALLS = frozenset({"phone", "sounder", "second contact", "hold", "end"})
SOONER_SOUNDS_S = 20.0
"""So long it is heard that somebody is to be back sooner than was said."""


class Sign(NamedTuple):
    """What the page says of the next sign."""

    wanted: bool  # it may be given now
    when: str  # 'in 12 min', '40 s ago'; empty: none is due
    taps_left: str
    otherwise: str  # what happens without one


def sign_of(snapshot: dict[str, Any], hour: Callable[[float], str]) -> Sign:
    """The next sign of this snapshot. hour: says the hour that lies so many seconds ahead."""
    known, now_s = snapshot["attendance"], snapshot["monotonic_s"]
    due_s, hold_s, end_s = known["due_s"], known["hold_s"], known["end_s"]
    wanted = known["stage"] not in NOT_WANTED
    if due_s is None:
        return Sign(False, "", "", "")
    left_s = due_s - now_s
    when = f"in {_minutes(left_s)}" if left_s > 0.0 else f"{_minutes(-left_s)} ago"
    left = known["phone_left"]
    taps = "" if known["only_presses"] else f"{left} more tap{'s' if left != 1 else ''} may come before a press."
    otherwise = ""
    if hold_s is not None and now_s < hold_s:
        otherwise = f"Without one it is held at {hour(hold_s - now_s)}; at {hour(end_s - now_s)} heat ends."
    elif end_s is not None:
        otherwise = f"Without a press heat ends at {hour(end_s - now_s)}."
    return Sign(wanted, when, taps, otherwise)


def sound_of(snapshot: dict[str, Any]) -> dict[str, Any] | None:
    """What a page lets a person hear: the alarm that sounds, or, with priority 0, that somebody is wanted."""
    alarm: dict[str, Any] | None = snapshot["sound"]
    if alarm is not None:
        return alarm
    moved = snapshot["be_back"]["moved"]
    if moved is not None and moved["by_s"] < 0 and moved["ago_s"] <= SOONER_SOUNDS_S:
        return {"priority": 0, "for_s": moved["ago_s"]}
    if snapshot["attendance"]["stage"] in CALLS:
        return {"priority": 0, "for_s": snapshot["monotonic_s"]}
    return None


def _minutes(seconds: float) -> str:
    """To the second where it is near; never more than is left."""
    return f"{seconds:.0f} s" if seconds < 120.0 else words.duration(60.0 * (seconds // 60.0))
