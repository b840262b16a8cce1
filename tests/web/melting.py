"""Snapshots of one melt as its metal is followed, from solid to likely ready, and in doubt. All invented."""

from typing import Any

from tests.web.snapshot_parts import headline, made
from tests.web.snapshots import GATE, HEATING, IDLE, LIQUID

MODEL = {"learned_from": 3, "made_utc_ms": 1_788_700_000_000, "residual_k": 6.2, "metered": True, "boost": ""}

FORECAST = {
    "minutes": {"likely": 62.0, "low": 54.0, "high": 71.0},
    "give_min": 9,
    "kwh": 2.31,
    "cost": 0.49,
    "currency": "EUR",
    "gate_asks_min": {"early": 24.0, "likely": 27.0},
    "learned": True,
}

DOUBTED = "The reading does not follow the power: 41 K too low, for 4 min."
NO_BOOST = {"on": False, "cap_c": None, "why": "Not yet: nobody has pressed at the gate."}


def metal(c: float, band_k: float, quarters: int | None, phase: str, **more: Any) -> dict[str, Any]:
    share = None if quarters is None else quarters / 4
    return {
        "c": c,
        "low_c": c - band_k,
        "high_c": c + band_k,
        "about_c": round(c / 5) * 5,
        "band_k": band_k,
        "share_low": share,
        "share_molten": share,
        "share_high": share,
        "quarters": quarters,
        "phase": phase,
        "words": "",
        "doubt": "",
        "ready": False,
        "minutes": None,
        "pour_in_s": None,
        "ahead": [],
        **more,
    }


def minutes(likely: float, low: float, high: float, words: str) -> dict[str, Any]:
    return {
        "likely": likely,
        "low": low,
        "high": high,
        "give_min": round(max(high - likely, likely - low)),
        "words": words,
    }


def unknown(doubt: str) -> dict[str, Any]:
    numbers = ("c", "low_c", "high_c", "about_c", "band_k", "phase")
    return {**metal(0.0, 0.0, None, "", doubt=doubt), **dict.fromkeys(numbers)}


EVIDENCE = "The reading is 47 K above what 2.00 kg should give, 14 min after the start."
SOLID = made(
    HEATING,
    epoch=20,
    headline=headline("All solid, pour likely from", "{hour}", "give or take 7 minutes.", "stay", 3120.0),
    metal=metal(
        212.0, 20, 0, "solid", words="all solid", minutes=minutes(52, 46, 59, "about 52 min"), pour_in_s=3120.0
    ),
    boost=NO_BOOST,
    gate={"state": "open", "limit_c": 545.0, "open_until_s": 5600.0, "in_s": None},
    model=MODEL,
    forecast=FORECAST,
)

MELTING = made(
    LIQUID,
    epoch=21,
    headline=headline(
        "About three quarters molten, pour likely from", "{hour}", "give or take 4 minutes. Stay here.", "stay", 720.0
    ),
    hot_junction={"c": 798.2, "age_s": 0.0, "fault": None},
    setpoint_c=800.0,
    at_temperature_s=None,
    profile={**LIQUID["profile"], "waits_for": None},
    metal=metal(
        641.0,
        10,
        3,
        "melting",
        words="about three quarters molten",
        minutes=minutes(12, 9, 16, "about 12 min"),
        pour_in_s=720.0,
        ahead=[[120, 644.0], [240, 648.0], [420, 672.0], [600, 705.0], [720, 720.0]],
    ),
    boost={"on": True, "cap_c": 800.0, "why": ""},
    model=MODEL,
    forecast=FORECAST,
)

NEARLY = made(
    MELTING,
    epoch=22,
    headline=headline("Likely all liquid:", "nearly", "there. Stay here.", "stay"),
    hot_junction={"c": 741.0, "age_s": 0.0, "fault": None},
    setpoint_c=740.0,
    metal=metal(706.0, 15, 4, "liquid", words="likely all liquid", minutes=minutes(2, 1, 5, "nearly there")),
    boost={"on": False, "cap_c": None, "why": "Ended: the metal is within 25 K of its target."},
)

READY = made(
    NEARLY,
    epoch=23,
    headline=headline("Likely ready. Before anybody looks:", "heat off", "and proved.", "wanted"),
    metal=metal(731.0, 15, 4, "liquid", words="likely all liquid", ready=True),
)

LOOKING = made(
    READY,
    epoch=24,
    state="held",
    held="watch",
    headline=headline("Heat off, proved. Likely ready:", "look", "and dip, then decide.", "wanted"),
    heat={"allowed": False, "off": "proved", "sentence": "Heat is off: the contactor reads open."},
    inputs={"lid": "open", "mirror": "closed"},
)

DOUBT = made(
    MELTING,
    epoch=25,
    headline=headline("Stay here. Metal", "unknown:", DOUBTED, "stay"),
    setpoint_c=740.0,
    metal=unknown(DOUBTED),
    boost={"on": False, "cap_c": None, "why": "Ended: the metal is not known any more."},
)

MASS = made(
    GATE,
    epoch=26,
    headline=headline("Weighed 2.00 kg, heats like", "1.1 kg.", "What is in the pot?", "wanted"),
    metal=unknown(f"What is in the pot is doubted. {EVIDENCE}"),
    mass_doubt={
        "weighed_kg": 2.0,
        "like_kg": 1.1,
        "confirmed": False,
        "evidence": EVIDENCE,
    },
    question={
        **GATE["question"],
        "kind": "mass",
        "sentence": "If the mass is as entered: press the button at the furnace.",
    },
    boost={"on": False, "cap_c": None, "why": "Not yet: the mass in the pot is in doubt."},
    model=MODEL,
)

PLANNED = made(IDLE, epoch=27, model=MODEL, forecast=FORECAST)

METAL = {
    "planned": PLANNED,
    "solid": SOLID,
    "melting, boost": MELTING,
    "boost ended": NEARLY,
    "ready": READY,
    "looking": LOOKING,
    "doubt": DOUBT,
    "mass doubted": MASS,
}
