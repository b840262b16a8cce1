"""Snapshots of a furnace whose person is away, or is asked for a sign. All data are invented."""

from tests.web.snapshot_parts import commands, headline, made
from tests.web.snapshots import HEATING

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
