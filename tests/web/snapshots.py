"""Snapshots of a furnace in its states, as docs/link.md has them. All data are invented."""

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

STOPPED: Snapshot = {
    "v": 1,
    "epoch": 3,
    "monotonic_s": 5000.0,
    "utc_ms": 1_789_000_000_000,
    "boot": "b1",
    "version": "0.1.0",
    "furnace": {
        "name": "workshop",
        "title": "Furnace A",
        "letter": "A",
        "capacity_kg": 2.5,
        "bore_mm": 95.0,
        "depth_mm": 170.0,
        "invented": True,
        "backend": "simulated",
        "top_c": 850.0,
        "limiter_c": 900.0,
    },
    "state": "stopped",
    "held": None,
    "headline": headline("The furnace is", "stopped", "21 °C, off, proved.", "calm"),
    "hot_junction": {"c": 21.3, "age_s": 0.0, "fault": None, "correction": None},
    "cold_junction_c": 21.0,
    "setpoint_c": None,
    "duty": 0.0,
    "heat": {"allowed": False, "off": "proved", "sentence": "No heat: nothing runs."},
    "doing": "Nothing.",
    "profile": None,
    "charge": None,
    "heat_number": None,
    "firing": None,
    "gate": {"state": "none", "limit_c": None, "open_until_s": None, "in_s": None},
    "at_temperature_s": None,
    "may_be_liquid": False,
    "aftermath": None,
    "reset_needs": [],
    "question": None,
    "permissives": [
        *PERMISSIVES,
        {"name": "profile chosen", "met": False, "reason": "No profile is chosen.", "mend": "Choose a profile."},
    ],
    "commands": commands("prepare"),
    "alarms": [],
    "shelved": [],
    "sound": None,
    "silent_s": 0.0,
    "watches": WATCHES,
    "relay": {"proving": False, "last": None},
    "prepared": None,
    "notes": notes(),
    "metal": None,
    "board": [],
    "boost": {"on": False, "cap_c": None, "why": ""},
    "mass_doubt": None,
    "model": None,
    "forecast": None,
    "pot_drained": False,
    "attendance": {
        "number": 0,
        "stage": "none",
        "sentence": "",
        "act": "",
        "tell": "",
        "due_s": None,
        "hold_s": None,
        "end_s": None,
        "period_s": None,
        "last_by": None,
        "phone_left": 0,
        "only_presses": False,
        "why_no_phone": "",
        "task": None,
    },
    "inputs": {"lid": "closed", "mirror": "open"},
    "be_back": {
        "in_s": None,
        "within_min": None,
        "limit": None,
        "why_not": "",
        "far": "",
        "otherwise": "",
        "moved": None,
    },
    "pour": {
        "stage": "none",
        "why": "",
        "to_in_s": None,
        "left": None,
        "contactor_open": True,
        "open_for_s": 400.0,
        "liquid_for_s": None,
        "moulds": [],
    },
    "left_open": None,
    "run": "r1",
    "reach": {
        "absence_allowed": False,
        "why_not": "Ben has not confirmed a test message within 30 days. Send one from Settings.",
        "nobody_told": "Ben has not confirmed a test message within 30 days. Send one from Settings.",
        "messenger_alive": True,
        "trouble": "",
        "heard": False,
        "contacts": [contact("Ada", confirmed=True, confirmed_utc_ms=1_788_900_000_000), BEN],
    },
}

PROFILE = {
    "name": "Ingots, 2 kg",
    "top_c": 760.0,
    "pour_c": 720.0,
    "target_c": 740.0,
    "segments": [
        {"sentence": "Ramp to 740 °C at 600 °C/h.", "done": False, "now": True},
        {"sentence": "Hold 15 min at 740 °C, then until a word.", "done": False, "now": False},
    ],
    "segment": 0,
    "waits_for": None,
    "ahead": [[0, 283.0], [2700, 740.0], [3900, 740.0]],
}

CHARGE = {"mass_kg": 2.0, "alloy": "6082", "form": "off-cuts", "solidus_c": 575.0, "liquidus_c": 650.0}

PREPARED = {"profile": "Ingots, 2 kg", "mass_kg": 2.0, "top_c": 760.0, "longest_s": 12600.0, "allowance_wh": 3300.0}


def made(base: Snapshot, **changes: Any) -> Snapshot:
    """A copy with some fields changed."""
    return {**deepcopy(base), **deepcopy(changes)}


IDLE = made(
    STOPPED,
    epoch=4,
    state="idle",
    headline=headline("All conditions hold.", "Start", "it here, then hold its button 3 s.", "calm"),
    profile=PROFILE,
    charge=CHARGE,
    heat_number="A-097",
    prepared=PREPARED,
    permissives=[*PERMISSIVES, {"name": "profile chosen", "met": True, "reason": "A profile is chosen.", "mend": ""}],
    commands=commands("prepare", "start"),
)

STARTING = made(
    IDLE,
    epoch=5,
    state="starting",
    headline=headline("At the furnace: hold its button", "3 s", "Within 60 s.", "wanted"),
    question={
        "kind": "start",
        "press": "hold",
        "sentence": "Hold the button at the furnace.",
        "asked_s": 4990.0,
        "until_s": 5050.0,
    },
    commands=commands(why="It starts."),
    prepared=None,
    heat={"allowed": False, "off": "proved", "sentence": "No heat before the held press."},
)

HEATING = made(
    IDLE,
    epoch=7,
    state="running",
    headline=headline("Heating, all solid. The gate asks at", "545 °C", "Nothing melts until you press.", "calm"),
    hot_junction={"c": 276.3, "age_s": 0.0, "fault": None, "correction": None},
    setpoint_c=283.0,
    duty=0.62,
    heat={"allowed": True, "off": None, "sentence": "Heat is allowed."},
    doing="Ramp to 740 °C at 600 °C/h.",
    firing={
        "id": 2,
        "started_utc_ms": 1_788_998_200_000,
        "elapsed_s": 1800.0,
        "energy_wh": 812.0,
        "allowance_wh": 3300.0,
        "longest_s": 12600.0,
        "lowered_k": 0.0,
    },
    gate={"state": "shut", "limit_c": 545.0, "open_until_s": None, "in_s": 1620.0},
    commands=commands("hold", "note"),
    notes=AT_WORK,
    prepared=None,
)

AWAY = made(
    HEATING,
    headline=headline("Heating, all solid. Be back by", "{hour}", "Nothing melts until you press.", "calm", 1260.0),
    be_back={
        "in_s": 1260.0,
        "within_min": None,
        "limit": "gate",
        "why_not": "",
        "far": "Be no further away than five minutes.",
        "otherwise": "Nothing melts until you press.",
        "moved": None,
    },
)

SOONER = made(
    AWAY,
    epoch=17,
    headline=headline(
        "All solid. Be back by",
        "{hour}",
        "6 min sooner: the mains came up. Nothing melts until you press.",
        "wanted",
        900.0,
    ),
    be_back={**AWAY["be_back"], "in_s": 900.0, "moved": {"by_s": -360, "because": "the mains came up", "ago_s": 3.0}},
)

WATCHED = made(
    HEATING,
    headline={**HEATING["headline"], "next_sign": "Next sign by {hour}.", "next_sign_in_s": 1260.0},
    attendance={
        **HEATING["attendance"],
        "number": 1,
        "stage": "not due",
        "sentence": "The last sign came from the button at the furnace.",
        "due_s": 6260.0,
        "hold_s": 6560.0,
        "end_s": 7160.0,
        "period_s": 1800.0,
        "last_by": "press",
        "phone_left": 3,
    },
)

SIGN_ASKED = made(
    WATCHED,
    epoch=18,
    headline=headline("All solid. Are you", "there?", "Tap what you see, or press, before {hour}.", "wanted", 240.0),
    attendance={
        **WATCHED["attendance"],
        "stage": "asked",
        "sentence": "Is somebody there?",
        "act": "Tap the range that the chamber is in, or press the button at the furnace.",
        "due_s": 5240.0,
        "hold_s": 5540.0,
        "end_s": 6140.0,
        "task": {
            "number": 4,
            "sentence": "In which of these is the chamber now?",
            "choices": [
                {"choice": 0, "low_c": 186, "high_c": 246},
                {"choice": 1, "low_c": 246, "high_c": 306},
                {"choice": 2, "low_c": 306, "high_c": 366},
            ],
        },
    },
    commands=commands("hold", "note", "attend"),
)

PRESS_DUE = made(
    SIGN_ASKED,
    epoch=19,
    headline=headline("Overdue. Go to the furnace and", "press:", "held from {hour}.", "act", 250.0),
    attendance={
        **SIGN_ASKED["attendance"],
        "stage": "phone",
        "sentence": "A sign is due that somebody is there.",
        "act": "Go to the furnace and press its button.",
        "tell": "first",
        "due_s": 4950.0,
        "hold_s": 5250.0,
        "end_s": 5850.0,
        "phone_left": 0,
        "only_presses": True,
        "why_no_phone": "A phone has answered as often in a row as it may: now only a press at the furnace counts.",
        "task": None,
    },
    commands=commands("hold", "note"),
)

GATE = made(
    HEATING,
    epoch=8,
    headline=headline("The gate asks: go and", "press", "Until then nothing melts.", "wanted"),
    hot_junction={"c": 541.0, "age_s": 0.0, "fault": None, "correction": None},
    question={
        "kind": "gate",
        "press": "short",
        "sentence": "Press the button at the furnace.",
        "asked_s": 4990.0,
        "until_s": 5050.0,
    },
    gate={"state": "asked", "limit_c": 545.0, "open_until_s": None, "in_s": 0.0},
)

HELD = made(
    HEATING,
    epoch=9,
    state="held",
    held="you",
    headline=headline("Held by you, all solid. Chamber", "351 °C", "", "calm"),
    hot_junction={"c": 351.2, "age_s": 0.0, "fault": None, "correction": None},
    setpoint_c=351.0,
    commands=commands("resume", "note", why="It is held already."),
)

LIQUID = made(
    HEATING,
    epoch=10,
    headline=headline("Stay here. At temperature for", "12 min", "Metal may be liquid.", "stay"),
    hot_junction={"c": 739.6, "age_s": 0.0, "fault": None, "correction": None},
    setpoint_c=740.0,
    at_temperature_s=720.0,
    may_be_liquid=True,
    gate={"state": "open", "limit_c": 545.0, "open_until_s": 5600.0, "in_s": None},
    profile={**PROFILE, "waits_for": "your word: go on"},
)


METAL = {
    "c": 731.2,
    "low_c": 716.0,
    "high_c": 745.9,
    "about_c": 730,
    "band_k": 15,
    "share_low": 1.0,
    "share_molten": 1.0,
    "share_high": 1.0,
    "quarters": 4,
    "phase": "liquid",
    "words": "likely all liquid",
    "ready": True,
    "doubt": "",
    "minutes": None,
    "pour_in_s": None,
    "ahead": [],
}

READY_HOT = made(
    LIQUID,
    epoch=20,
    headline=headline("Likely ready. Before anybody looks:", "heat off", "and proved.", "wanted"),
    metal=METAL,
    at_temperature_s=None,
    pour={
        **STOPPED["pour"],
        "stage": "heat off first",
        "contactor_open": False,
        "open_for_s": None,
        "liquid_for_s": 240.0,
    },
)

READY = made(
    READY_HOT,
    epoch=21,
    state="held",
    held="watch",
    headline=headline("Heat off, proved. Likely ready:", "look", "and dip, then decide.", "wanted"),
    heat={"allowed": False, "off": "proved", "sentence": "the contactor reads open."},
    pour={
        **READY_HOT["pour"],
        "stage": "look",
        "contactor_open": True,
        "open_for_s": 40.0,
        "to_in_s": 250,
        "left": {"min": 4, "give_min": 3},
    },
    inputs={"lid": "open", "mirror": "closed"},
    notes=notes("addition", "skim", "dip reading", "all molten", "mould", "pour", "mass", "remark"),
)

WITHDRAWN = made(
    READY,
    epoch=22,
    headline=headline("", "Not", "ready after all: the dip is 31 K low. Lid shut.", "stay"),
    metal={**METAL, "ready": False, "about_c": 700},
    pour={**READY["pour"], "stage": "withdrawn", "why": "The dip is 31 K low.", "to_in_s": None, "left": None},
)

POURING = made(
    READY,
    epoch=23,
    state="complete",
    held=None,
    headline=headline("Heat off, proved. Likely ready:", "look", "and dip, then decide.", "wanted"),
    pour={**READY["pour"], "stage": "pouring", "to_in_s": None, "left": None, "moulds": ["1"]},
)


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

ALL = {
    "stopped": STOPPED,
    "idle": IDLE,
    "starting": STARTING,
    "heating": HEATING,
    "watched": WATCHED,
    "sign asked": SIGN_ASKED,
    "press due": PRESS_DUE,
    "gate": GATE,
    "held": HELD,
    "liquid": LIQUID,
    "tripped": TRIPPED,
    "away": AWAY,
    "sooner": SOONER,
    "ready hot": READY_HOT,
    "ready": READY,
    "withdrawn": WITHDRAWN,
    "pouring": POURING,
    "came back": CAME_BACK,
    "held by the log": HELD_BY_LOG,
}
