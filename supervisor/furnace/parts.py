"""The parts of a furnace that are changed one day, and what each change takes back: proofs, and what was learned."""

from typing import NamedTuple

from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.proofs import of


class Part(NamedTuple):
    """One part. What is fitted new is proved anew, in the stage that the proof belongs to."""

    title: str
    proofs: tuple[str, ...]  # names of `proofs.KINDS` that hold no more
    learned: bool = False  # what was learned of the furnace holds no more
    caution: str = ""  # stands where the change is entered


_DEAD = (
    "Lethal voltage, also with the relay off. Supply isolated, locked off and proved dead before a cover is opened; a"
    " licensed person does or checks it, to the local code."
)
_FIBRE = (
    "Lining dust harms the lungs: work on it cold and damp, with a particle mask, and do not sweep. Supply isolated and"
    " locked off first."
)
_STOPS = ("emergency-stop", "contactor", "killed", "halted", "unplugged")

PARTS = {
    "element": Part("Element", ("direction", "relay-off", "earth-bond", "first-heat"), True, _DEAD),
    "lining": Part("Lining or lid", ("earth-bond", "dry-out", "first-heat"), True, _FIBRE),
    "crucible": Part(
        "Crucible", ("dry-out",), True, "Cold, drained and dry. Look for cracks; never wedge metal in cold."
    ),
    "sensor": Part("Thermocouple, or its board", ("cold-check", "direction"), True, _DEAD),
    "relay": Part("Solid-state relay", ("relay-off", "contactor", "direction"), False, _DEAD),
    "contactor": Part("Safety contactor", (*_STOPS, "poles", "limiter-trip"), False, _DEAD),
    "limiter": Part("Limiter, or its sensor", ("limiter-sensor", "limiter-setting", "limiter-trip"), False, _DEAD),
    "permit-board": Part("Permit circuit", ("permit", "permit-racing", "killed", "halted", "unplugged"), False, _DEAD),
    "emergency-stop": Part("Emergency stop", ("emergency-stop",), False, _DEAD),
    "key-switch": Part("Key switch", ("key",), False, _DEAD),
    "button": Part("Button at the furnace", ("button", "contactor"), False, _DEAD),
    "lid-switch": Part("Lid switch", ("lid",), False, _DEAD),
    "lamp": Part("Lamp", ("lamp",), False, _DEAD),
    "sounder": Part("Sounder", ("sounder",), False, _DEAD),
    "meter": Part("Energy meter", ("meter", "relay-off"), False, _DEAD),
    "current-switch": Part("Current switch", ("current",), False, _DEAD),
    "mains-presence": Part("Mains presence", ("mains",), False, _DEAD),
    "tray-probe": Part("Tray probe", ("tray",), False, _DEAD),
    "supply": Part("Mains wiring, breaker or earth-leakage device", ("earth-leakage", "earth-bond"), False, _DEAD),
    "computer": Part(
        "Computer, or its wiring to the furnace",
        (
            *("emergency-stop", "limiter-sensor", "key", "button", "lid", "mains", "tray", "cold-check", "lamp"),
            *("sounder", "permit", "permit-racing", "contactor", "killed", "halted", "unplugged", "meter", "current"),
            *("direction", "relay-off", "limiter-trip"),
        ),
        False,
        _DEAD,
    ),
}
"""Every part by its name."""

EVENTS = {
    "earth-leakage-trip": Part(
        "Earth-leakage device has tripped",
        ("insulation",),
        False,
        "Leave it off. Something leaks to earth, and the shell may be live: keep hands away. Plug out or isolated,"
        " locked off and proved dead by a licensed person before anything is looked at. A wet lining leaks too: it is"
        " dried without mains on the element, then measured.",
    )
}
"""What happened to a furnace without a part being changed, and what it takes back."""

TAKES_BACK = {**PARTS, **EVENTS}
"""Whatever takes proofs back, by its name."""

PART_OF_PROOF = {
    proof: tuple(name for name, part in TAKES_BACK.items() if proof in part.proofs)
    for proof in dict.fromkeys(proof for part in TAKES_BACK.values() for proof in part.proofs)
}
"""Which parts a proof is of, or what happened that asks for it."""


def proved_again(furnace: FurnaceDescription, part: str) -> list[str]:
    """Titles of the proofs that a change of this part takes back on this furnace."""
    kinds = of(furnace)
    return [kinds[proof].title for proof in TAKES_BACK[part].proofs if proof in kinds]


def asked_by(furnace: FurnaceDescription, part: str) -> str:
    """What a change of this part asks for, in one or two sentences."""
    proofs = proved_again(furnace, part)
    told = f"To be proved again: {'; '.join(proofs)}." if proofs else "Nothing has to be proved again."
    if TAKES_BACK[part].learned:
        told += " What was learned of the furnace counts no more: it is learned anew from the melts to come."
    return told
