"""Why: the evidence behind each number and each refusal, with its age and the records that it rests on.

From the snapshot alone, in sentences in °C; the page turns them into the reader's unit.
"""

from typing import Any, NamedTuple

from web import words

Snapshot = dict[str, Any]
SPOKEN = {
    "prepare": "choose a profile",
    "start": "start",
    "hold": "hold",
    "resume": "go on",
    "acknowledge": "acknowledge",
    "silence": "quiet",
    "shelve": "shelve",
    "unshelve": "take from the shelf",
    "reset": "ask for a reset",
    "note": "note",
    "raise": "raise",
    "adopt": "take another model",
    "attend": "answer by a tap",
    "told": "say who was told",
}
"""The commands as a page calls them; the others are the furnace's own."""

MIRROR = {"closed": "contactor proved open", "open": "contactor not proved open"}
"""What the mirror contact's two levels mean: it is closed while the contactor is open."""


class Why(NamedTuple):
    """One question and its answer. name: where a link leads to."""

    name: str
    question: str
    because: list[str]
    records: str = ""  # what of the log or the snapshot it was read from


def answers(s: Snapshot, *, age_s: float) -> list[Why]:
    """Every question that can be asked of this snapshot."""
    found = [
        _chamber(s, age_s),
        _setpoint(s),
        _duty(s),
        _metal(s),
        _back(s),
        _heat(s),
        _sign(s),
        _refused(s),
        _alarms(s),
    ]
    return [why for why in found if why.because]


def _chamber(s: Snapshot, age_s: float) -> Why:
    hot, cold_c = s["hot_junction"], s["cold_junction_c"]
    if hot["c"] is None:
        because = ["Nothing was read yet."]
    else:
        because = [f"The thermocouple read {hot['c']:.1f} °C, {hot['age_s'] + age_s:.1f} s ago."]
    if hot["fault"]:
        because.append(f"The reading since is refused: {hot['fault']}.")
    if cold_c is not None:
        because.append(f"Its cold junction, in the box, is at {cold_c:.1f} °C, and is reckoned in.")
    because.append("It is the chamber at the probe, not the metal.")
    return Why("chamber", "Why this chamber temperature?", because, "table sample, hot_junction_c, each second")


def _setpoint(s: Snapshot) -> Why:
    profile = s["profile"]
    if s["setpoint_c"] is None or profile is None:
        return Why("setpoint", "Why no setpoint?", ["Nothing is heated, so nothing is aimed at."])
    because = [f"It is {s['setpoint_c']:.0f} °C. {s['doing']}"]
    if s["held"]:
        because.append("Held: the lowest of the setpoint, the reading and the metal's target when the hold began.")
    gate = s["gate"]
    if gate["state"] in ("shut", "asked"):
        because.append(f"The gate is shut: not above {gate['limit_c']:.0f} °C before somebody presses.")
    if s["boost"]["on"]:
        because.append(f"Boost: up to {s['boost']['cap_c']:.0f} °C on purpose while the metal is colder.")
    elif s["boost"]["why"]:
        because.append(f"No boost: {s['boost']['why']}")
    if s["firing"] and s["firing"]["lowered_k"]:
        because.append(f"Somebody lowered it by {s['firing']['lowered_k']:.0f} K.")
    return Why("setpoint", "Why this setpoint?", because, f"profile {profile['name']}, frozen at the start")


def _duty(s: Snapshot) -> Why:
    if s["firing"] is None or s["setpoint_c"] is None:
        return Why("duty", "Why no heat?", [s["heat"]["sentence"]])
    because = [f"The element is on {100.0 * (s['duty'] or 0.0):.0f} % of the time."]
    if s["hot_junction"]["c"] is not None:
        off_k = s["setpoint_c"] - s["hot_junction"]["c"]
        where = (
            f"{abs(off_k):.0f} K {'below' if off_k > 0.0 else 'above'} the setpoint" if abs(off_k) >= 1.0 else "at it"
        )
        because.append(f"The chamber is {where}; what the walls lose at this temperature is added.")
    firing = s["firing"]
    used = f"{firing['energy_wh']:.0f} of {firing['allowance_wh']:.0f} Wh allowed are used"
    spent = firing["energy_wh"] >= firing["allowance_wh"]
    because.append(f"{used}: {'heat is limited to what holds the temperature.' if spent else 'no limit by energy.'}")
    because.append(s["heat"]["sentence"])
    return Why("duty", "Why this duty?", because, "table sample, duty and energy_wh")


def _metal(s: Snapshot) -> Why:
    metal, model = s["metal"], s["model"]
    if s["charge"] is None:
        return Why("metal", "Why no metal temperature?", [])
    if metal is None:
        return Why("metal", "Why no metal temperature?", ["The metal is reckoned from the start of heat to its pour."])
    if metal["doubt"]:
        return Why("metal", "Why is the metal not known?", [metal["doubt"], "With a doubt no number is shown."])
    because = [
        f"About {metal['about_c']} °C, give or take {metal['band_k']} K: nine times in ten it is in there.",
        f"It is reckoned from {s['charge']['mass_kg']:.2f} kg, the power given since the start, and the reading.",
        f"{metal['words'][0].upper()}{metal['words'][1:]}. Nothing measures the metal but a dip reading.",
    ]
    if model is None:
        because.append("Nothing is learned of this furnace: data sheets alone.")
    else:
        rms = "" if model["residual_k"] is None else f", which it met to {model['residual_k']:.1f} K while solid"
        because.append(f"The model is learned from {model['learned_from']} of its own firings{rms}.")
    if metal["minutes"]:
        because.append(f"To pour {metal['minutes']['words']}, give or take {metal['minutes']['give_min']} min.")
    return Why("metal", "Why this metal temperature?", because, "table estimate, each minute; table model")


def _back(s: Snapshot) -> Why:
    back = s["be_back"]
    if back["why_not"]:
        return Why("back", "Why is no hour promised?", [back["why_not"], "Stay with the furnace meanwhile."])
    if back["in_s"] is None:
        return Why("back", "Why is no hour promised?", [])
    because = [
        "It is the earliest that the gate may ask for a press, less five minutes: one firing in twenty is earlier "
        "than that edge.",
        "It is never later than the next sign that is due.",
        f"{back['far']} {back['otherwise']}",
        "House rules, the insurer and local codes may allow less.",
    ]
    if back["moved"]:
        because.insert(0, f"It has moved: {back['moved']['because']}.")
    return Why("back", "Why be back by then?", because, "the look ahead of the model, each half to five minutes")


def _heat(s: Snapshot) -> Why:
    off = {"proved": "Off, proved.", "ordered": "Off was ordered, and is not proved.", None: "Heat is not off."}
    lines = [
        MIRROR.get(level, "") if name == "mirror" else f"{name.replace('_', ' ')} reads {level}"
        for name, level in s["inputs"].items()
        if level != "not fitted"
    ]
    because = [f"{off[s['heat']['off']]} {s['heat']['sentence']}", f"Inputs: {', '.join(lines)}."]
    last = s["relay"]["last"]
    if last is not None:
        ago = words.duration(last["age_s"])
        because.append(f"The relay was last {last['result']}, {ago} ago, by {last['how']}: {last['evidence']}.")
    return Why("heat", "Why is heat called on, off or proved?", because, "the inputs of this very snapshot")


def _sign(s: Snapshot) -> Why:
    a = s["attendance"]
    if a["due_s"] is None:
        return Why("sign", "Why is no sign wanted?", [])
    because = [f"A sign is good for {words.duration(a['period_s'])} as things are. {a['sentence']}"]
    if a["why_no_phone"]:
        because.append(a["why_no_phone"])
    return Why("sign", "Why is a sign wanted?", because, "table event, kinds press and sign")


def _refused(s: Snapshot) -> Why:
    because = [
        f"{SPOKEN[command['name']][0].upper()}{SPOKEN[command['name']][1:]}: {command['why']}"
        for command in s["commands"]
        if not command["allowed"] and command["name"] in SPOKEN and command["why"]
    ]
    return Why(
        "refused", "Why is something not offered now?", because, "the supervisor's own reasons, in this snapshot"
    )


def _alarms(s: Snapshot) -> Why:
    because = []
    for alarm in s["alarms"]:
        ago = words.duration(max(0.0, s["monotonic_s"] - alarm["since_s"]))
        first = " It was the first cause." if alarm["first_out"] else ""
        because.append(f"{alarm['sentence']} {alarm['evidence']}, since {ago} ago.{first}")
    return Why("alarms", "Why these alarms?", because, "table alarm, with the samples around each")
