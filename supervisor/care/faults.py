"""From what was noticed to the part, in dead-circuit tests: three steps, the likeliest first.

No step measures under mains. Each that comes near element or terminals begins with the same sentence: plug out or
isolated, locked, proved dead, by whom.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

DEAD = "Plug out or isolated, locked off, proved dead by a licensed person, who says so. Below 40 °C, contents out."


class Test(NamedTuple):
    """One test on the dead circuit: what is done, what a good part shows, and which part else."""

    do: str
    good: str
    part: str  # of supervisor.furnace.parts
    hands: bool = True  # near element or terminals: DEAD comes first


class Symptom(NamedTuple):
    """What a person sees, or what the record shows, and the tests in the order in which they tell most."""

    title: str
    seen: str
    watches: tuple[str, ...]  # that speak when it happens
    tests: tuple[Test, ...]


_ELEMENT = Test(
    "Measure the element's ohms at its own ends, one lead taken off.",
    "Within 5 % of the cold ohms in the furnace file. None at all: it is broken; far less: turns touch.",
    "element",
)
_RELAY = Test(
    "Take the relay's load leads off; measure between its load terminals, both ways round.",
    "Above 100 kilohm both ways. A few ohms: it is shorted; one way only: half of it.",
    "relay",
)
_FUSE = Test("Take the fuse out and measure through it.", "Below 1 ohm.", "supply")
_POLES = Test("Measure across each pole of the contactor, coil dead.", "Above 1 megohm, both.", "contactor")
_COIL = Test(
    "Measure the contactor's coil, its wires taken off.", "What its data sheet says, some hundred ohm.", "contactor"
)
_INSULATION = Test(
    "A licensed person measures element and wiring to earth at 500 V direct voltage.", "1 megohm or more.", "element"
)
_TIP = Test(
    "Look at the sensor: tip where its mark says, sheath whole, plug clean, both screws tight.",
    "As it was when it was fitted.",
    "sensor",
)
_LOOP = Test(
    "Unplug the sensor; measure its loop, and each leg to the sheath.",
    "Loop of a few ohms that stays when it is bent; the sheath not connected, unless it is grounded by design.",
    "sensor",
)
_DIRECTION = Test("Warm the tip by hand, cold furnace, and look at the reading.", "It rises.", "sensor", hands=False)
_ICE = Test(
    "Hold the tip in crushed ice and water: meltkeeper care sensor --ice READING.", "0 °C within 4.5 K.", "sensor"
)
_CHAIN = Test(
    "Emergency stop released, key on, limiter reset by hand: look at their lamps.", "All three healthy.", "limiter",
    hands=False,
)  # fmt: skip
_DRIVE = Test(
    "Take the relay's control leads off and measure the drive's wire through to the board.", "Below 1 ohm.", "computer"
)
_SWITCH = Test(
    "Work the lid's switch by hand, its plug out, and measure it.", "Open and closed as the lid is.", "lid-switch"
)
_PERMIT = Test(
    "meltkeeper check permit: no heat, and the contactor stays out.", "Both relays let go in time.", "permit-board",
    hands=False,
)  # fmt: skip
_METER = Test(
    "Look at the meter's own display beside an ordered minute.", "Its pulses are in the log.", "meter", hands=False
)

SYMPTOMS = {
    "no-heat": Symptom(
        "Heat is ordered and nothing gets warmer",
        "Full duty, contactor in, the reading does not rise or falls.",
        (
            "heat-without-rise",
            "no-power",
            "no-current",
            "colder-than-power",
        ),
        (_ELEMENT, _FUSE, _RELAY),
    ),
    "weak-heat": Symptom(
        "It heats slower than it did",
        "More minutes and less power than its first melts.",
        (
            "mains-low",
            "needs-more-power",
        ),
        (
            Test(
                "Read the mains voltage on a plug-in meter while it heats: meltkeeper care volts.",
                "Within 5 % of nominal: then it is not the mains.",
                "supply",
                hands=False,
            ),
            _ELEMENT,
            Test(
                "Look for glowing spots' traces, sagged turns and loose terminals.", "Even, tight, no scale.", "element"
            ),
        ),
    ),
    "heat-unasked": Symptom(
        "It heats without being asked",
        "The reading rises or power flows with the relay off.",
        (
            "heat-without-command",
            "power-when-off",
            "power-without-command",
            "pulse-when-off",
            "power-at-rest",
            "current-when-off",
            "relay-proof",
            "relay-undecided",
            "lid-not-cooling",
            "over-setpoint",
            "warmer-than-power",
        ),
        (_RELAY, _POLES, _DRIVE),
    ),
    "contactor-stays": Symptom(
        "The contactor does not open, or does not go in",
        "Its mirror contact does not follow what is ordered.",
        (
            "contactor-stuck",
            "contactor-chatters",
            "chain-lost",
        ),
        (_CHAIN, _COIL, _POLES),
    ),
    "leaks": Symptom(
        "The earth-leakage device trips",
        "Mains gone at the moment in which heat began, or after an hour of damp.",
        ("supply-lost",),
        (
            _INSULATION,
            Test("Look for water, cracked brick, metal or dross on the element.", "Dry and clean.", "lining"),
            Test(
                "With the element taken off at both ends the wiring alone is measured to earth.",
                "1 megohm or more.",
                "supply",
            ),
        ),
    ),
    "sensor-gone": Symptom(
        "No reading, or a wild one",
        "Open circuit, short, damaged frames, noise.",
        (
            "no-reading",
            "reading-old",
            "reading-frozen",
            "sensor-noisy",
            "rate-impossible",
        ),
        (_TIP, _LOOP, _DIRECTION),
    ),
    "sensor-wrong": Symptom(
        "The reading is there, and wrong",
        "It disagrees with the flat part, a dip, or what the power should give.",
        (
            "sensor-reversed",
            "sensors-disagree",
            "cold-junction-hot",
            "needs-more-power",
        ),
        (_TIP, _ICE, _LOOP),
    ),
    "draws-much": Symptom(
        "The element draws too much",
        "More power than its ohms allow; the breaker is near its end.",
        ("element-shorted",),
        (_ELEMENT, _INSULATION, _FUSE),
    ),
    "lid": Symptom(
        "The lid is said to be what it is not",
        "Open while it is shut, or heat with it open.",
        (
            "lid-unseen",
            "lid-cools-little",
        ),
        (_SWITCH, Test("Follow its two wires to the board.", "Below 1 ohm each.", "lid-switch"), _DRIVE),
    ),
    "permit": Symptom(
        "The start test fails at the permit",
        "A permit relay does not let go, or does not go in.",
        ("start-test",),
        (_PERMIT, Test("Measure the 24 V supply's fuse, out of its holder.", "Below 1 ohm.", "permit-board"), _DRIVE),
    ),
    "meter": Symptom(
        "The meter disagrees",
        "Pulses without heat, or heat without pulses, with the furnace warming as ever.",
        ("meter-disagrees",),
        (_METER, Test("Follow its two pulse wires to the board.", "Below 1 ohm each.", "meter"), _RELAY),
    ),
}
"""Every symptom by its name."""


class Suspect(NamedTuple):
    """A symptom that the record shows, and why."""

    name: str
    symptom: Symptom
    evidence: str  # what the record says of it; empty: a person said so


def suspects(spoken: Mapping[str, str], asked: Sequence[str] = ()) -> list[Suspect]:
    """Symptoms that the record shows, the freshest first, then those that a person named.

    spoken: evidence by watch, the freshest first.
    """
    found: dict[str, Suspect] = {}
    for watch, evidence in spoken.items():
        for name, symptom in SYMPTOMS.items():
            if watch in symptom.watches and name not in found:
                found[name] = Suspect(name, symptom, evidence)
    for name in asked:
        if name in SYMPTOMS and name not in found:
            found[name] = Suspect(name, SYMPTOMS[name], "")
    return list(found.values())
