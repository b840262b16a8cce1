"""Snapshots of a furnace whose metal is likely ready, looked at, or poured. All data are invented."""

from tests.web.snapshot_parts import headline, made, notes
from tests.web.snapshots import LIQUID, STOPPED

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
