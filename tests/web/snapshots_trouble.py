"""Snapshots of a furnace in trouble, or after it. All data are invented."""

from typing import Any

from tests.web.snapshot_parts import commands, headline, made
from tests.web.snapshots import HEATING, STOPPED


def alarm(watch: str, **changes: Any) -> dict[str, Any]:
    """One alarm as docs/link.md has it."""
    return {
        "id": f"{watch}/1",
        "watch": watch,
        "group": f"{watch}/1",
        "folded": False,
        "first_out": True,
        "priority": 1,
        "state": "unacknowledged",
        "acknowledged": False,
        "latched": True,
        "sentence": "The sensor wire broke.",
        "consequence": "Still hot inside; nobody knows how hot.",
        "act": "Switch off at the wall, then look at the sensor plug.",
        "act_within_s": 600.0,
        "act_left_s": 598.0,
        "evidence": "open circuit bit in 4 of 4 frames",
        "since_s": 4998.0,
        "stale": False,
        "chatters": False,
        "may_shelve": False,
        "why_not_shelved": "What ends a firing cannot be shelved.",
        **changes,
    }


def follower(watch: str, of: str, **changes: Any) -> dict[str, Any]:
    """An alarm that only followed another."""
    return alarm(watch, group=f"{of}/1", folded=True, first_out=False, **changes)


CAME_BACK = made(
    STOPPED,
    epoch=2,
    headline=headline("Power is back: heat is", "off,", "proved. Out for 42 min: may be liquid inside.", "wanted"),
    hot_junction={"c": 412.4, "age_s": 0.0, "fault": None, "correction": None},
    may_be_liquid=True,
    left_open="A-087 ended without its closing record.",
    aftermath={
        "ended": "power",
        "happened": "The computer lost its supply, or was started anew.",
        "lasted": {"s": 2520.0, "at_least": False, "words": "42 min"},
        "name": "A-087",
        "was": "running",
        "before_c": 738.2,
        "ended_utc_ms": 1_788_997_480_000,
        "metal": {
            "state": "may be liquid",
            "sentence": "Metal may be liquid inside, for another 4 h 10 min at the latest.",
            "solid_in_s": 15000.0,
        },
        "do_not": [
            "Do not add charge: a cold or damp piece on metal that is liquid inside throws it.",
            "Do not open the lid to look, and do not move the pot.",
        ],
        "then": "A new firing on it climbs at 300 °C/h at most up to 500 °C, and without boost.",
    },
    reset_needs=["found"],
    commands=commands("prepare", "reset"),
)

TRIPPED = made(
    HEATING,
    epoch=11,
    state="aborted",
    headline=headline("Heat is", "off", "Proved. The sensor wire broke.", "act"),
    hot_junction={"c": None, "age_s": 3.0, "fault": "open circuit"},
    setpoint_c=None,
    duty=0.0,
    heat={"allowed": False, "off": "proved", "sentence": "No heat: a trip waits for its reset."},
    commands=commands("reset", "silence", why="A trip waits for its reset."),
    sound={"priority": 1, "for_s": 2.0},
    alarms=[
        alarm(
            "no-reading",
            first_out=False,
            group="sensor-open/1",
            sentence="No reading for 1 s.",
            consequence="Nobody knows how hot it is.",
            act="Keep the lid shut.",
            evidence="4 frames without a value",
            since_s=4999.0,
        ),
        alarm("sensor-open"),
        follower("limiter", "sensor-open", sentence="The over-temperature limiter opened: believe it."),
    ],
)

HELD_BY_LOG = made(
    HEATING,
    epoch=12,
    state="held",
    held="watch",
    headline=headline("Held by a", "watch:", "The log cannot be written.", "wanted"),
    commands=commands("note", "silence", "shelve", why="What held it is still there."),
    sound={"priority": 2, "for_s": 2.0},
    alarms=[
        alarm(
            "log-behind",
            priority=2,
            latched=False,
            sentence="The log cannot be written.",
            consequence="No heat is ordered while what happens cannot be kept.",
            act="Free some room on the card.",
            evidence="oldest event waits for 9 s",
            may_shelve=True,
            why_not_shelved="",
        )
    ],
)
