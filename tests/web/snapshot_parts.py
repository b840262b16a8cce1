"""What snapshots are put together from: commands, notes, headlines, people; and how one is changed into another."""

from copy import deepcopy
from typing import Any

Snapshot = dict[str, Any]

COMMANDS = (
    "prepare",
    "start",
    "hold",
    "resume",
    "stop",
    "acknowledge",
    "silence",
    "shelve",
    "unshelve",
    "reset",
    "note",
    "lower",
    "raise",
    "adopt",
    "attend",
    "told",
)


NOTES = (
    *("addition", "skim", "dip reading", "all molten", "mould", "pour", "go on", "mass", "remark"),
    *("quarantine", "quarantine lifted"),
)


def notes(*allowed: str) -> list[dict[str, Any]]:
    return [
        {
            "kind": kind,
            "allowed": kind in allowed,
            "why": "" if kind in allowed else "There is no firing to note it in.",
        }
        for kind in NOTES
    ]


def headline(before: str, key: str, after: str, tone: str, in_s: float | None = None) -> dict[str, Any]:
    said = {"before": before, "key": key, "after": after, "tone": tone, "in_s": in_s}
    return {**said, "next_sign": "", "next_sign_in_s": None}


AT_WORK = notes("addition", "skim", "dip reading", "all molten", "pour", "mass", "remark")


def commands(*allowed: str, why: str = "Nothing is running.") -> list[dict[str, Any]]:
    may = {"stop", "lower", "acknowledge", "told", *allowed}
    return [{"name": name, "allowed": name in may, "why": "" if name in may else why} for name in COMMANDS]


WATCHES: dict[str, Any] = {"count": 50, "speak": []}

PERMISSIVES = [
    {"name": "sensor answers", "met": True, "reason": "The sensor reads.", "mend": ""},
    {"name": "lid shut", "met": True, "reason": "The lid reads shut.", "mend": ""},
    {"name": "key on", "met": True, "reason": "The key is on.", "mend": ""},
]


def contact(name: str, **changes: Any) -> dict[str, Any]:
    """Somebody to be told."""
    return {
        "name": name,
        "order": "first",
        "addresses": ["mailtos://… (4be1)"],
        "quiet": [],
        "confirmed": False,
        "confirmed_utc_ms": None,
        "failed_utc_ms": None,
        "failed": "",
        "test": 0,
        "tested": 0,
        "code_waits": False,
        **changes,
    }


BEN = contact(
    "Ben",
    order="second",
    addresses=["mailtos://… (77aa)", "jsons://… (0c3d)"],
    quiet=[3],
    failed_utc_ms=1_788_950_000_000,
    failed="a test message: jsons://… (0c3d): no answer within 10 s",
    code_waits=True,
)


def made(base: Snapshot, **changes: Any) -> Snapshot:
    """A copy with some fields changed."""
    return {**deepcopy(base), **deepcopy(changes)}
