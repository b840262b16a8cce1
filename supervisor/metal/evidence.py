"""What the record says of a poor ingot: the facts that causes are ranked by. Pure data; who reads them is elsewhere."""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Usual:
    """What is usual in this workshop: the middle of earlier melts, and how far they commonly lie from it."""

    middle: float
    departure: float
    melts: int


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the record says of the melt that an ingot came from. None or empty: nobody knows."""

    symptoms: tuple[str, ...] = ()  # keys of SYMPTOMS
    likely: Mapping[str, float] = field(default_factory=dict)  # wt%
    near: str = ""
    near_then: str = ""  # which alloy the plan took it for
    unknown_share: float = 0.0  # of the charge, lots that nobody knows or that were found to be another alloy
    found_out: tuple[str, ...] = ()  # lots that were described otherwise after the melt
    contaminated: str = ""  # why it is under quarantine
    liquid_min: float | None = None
    usual_liquid_min: Usual | None = None
    metal_most_c: float | None = None
    metal_by: str = ""
    poured_c: float | None = None
    pour_low_c: float | None = None
    liquidus_c: float | None = None
    cool_min: float = 0.0  # liquid and colder than where sludge goes back into solution
    air: str = ""  # dry, damp
    undried: tuple[str, ...] = ()  # sentences: what went in without a proof that it was dry
    dry_hours: float | None = None  # since the oldest proof of what went in, at its charge
    skims: int | None = None
    usual_skims: float | None = None
    dross_share: float | None = None
    usual_dross: Usual | None = None
    chips_share: float = 0.0
    usual_chips_share: float = 0.0
    roof: str = ""  # why it is thought to have hung up
    sensor_off_k: float | None = None
    sensor_sd_k: float | None = None
    mould_hours: float | None = None  # since the mould came out of the heat
    usual_mould_hours: float | None = None
    mould_undried: tuple[str, ...] = ()
    iron_over_metal: float | None = None  # mass of the mould over that of the ingot
    usual_iron: float | None = None
    aged: bool = False
    castings: bool = False  # mostly of a casting alloy


SYMPTOMS: Mapping[str, tuple[str, ...]] = {
    "gums": ("gum", "sticky", "smear", "soft", "drag", "tears instead", "built-up", "builds up", "rips", "ripped"),
    "pores": ("pore", "porous", "pinhole", "holes", "blister", "gas"),
    "hard": ("hard", "speck", "dulls", "dull ", "grit", "sand in"),
    "skins": ("oxide", "skin", "dross", "inclusion", "film", "slag"),
    "cracks": ("crack", "brittle", "tore", "breaks", "broke"),
    "laps": ("lap", "cold shut", "fold", "misrun", "not filled", "did not fill"),
    "coarse": ("coarse", "grain", "pipe", "sink", "shrink", "cavity"),
}
"""What people write of a poor ingot, by the words that they use for it."""


def symptoms(text: str) -> tuple[str, ...]:
    """What is wrong with an ingot, read from a note."""
    said = text.lower()
    return tuple(name for name, words in SYMPTOMS.items() if any(word in said for word in words))


def missing(found: Evidence) -> str:
    """What nobody wrote down, so that it speaks neither for nor against."""
    lacks = [
        words
        for absent, words in (
            (not found.symptoms, "what is wrong with it"),
            (found.liquid_min is None, "how long it was liquid"),
            (found.poured_c is None, "how hot it was poured"),
            (found.skims is None, "whether it was skimmed"),
            (found.dross_share is None, "its dross"),
            (not found.air, "the weather"),
            (not found.likely, "what is in it"),
        )
        if absent
    ]
    return f"Not on record: {', '.join(lacks)}." if lacks else ""
