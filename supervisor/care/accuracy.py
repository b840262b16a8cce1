"""How far the shown temperature may be off: one number, and the parts that it is made of."""

from math import sqrt
from typing import NamedTuple

CLASSES = {
    "class 1": (1.5, 0.004, "IEC 60584-1, class 1: the greater of 1.5 K and 0.4 % (from memory)"),
    "class 2": (2.5, 0.0075, "IEC 60584-1, class 2: the greater of 2.5 K and 0.75 % (from memory)"),
    "special": (1.1, 0.004, "ASTM E230, special limits: the greater of 1.1 K and 0.4 % (from memory)"),
    "standard": (2.2, 0.0075, "ASTM E230, standard limits: the greater of 2.2 K and 0.75 % (from memory)"),
}
"""What a new wire may be off, by its class."""


class Part(NamedTuple):
    """One reason why the number may be off, K, as a limit."""

    name: str
    limit_k: float
    source: str


class Accuracy(NamedTuple):
    """The chain from hot junction to number; the metal may differ from the chamber by more than that."""

    limit_k: float
    at_c: float
    parts: tuple[Part, ...]
    words: str


def accuracy(
    at_c: float, *, kind: str = "class 2", extension: bool = True, melts: int = 0, held_within_k: float | None = None
) -> Accuracy:
    """Root sum of the chain's parts at a temperature.

    kind: of CLASSES. extension: the sensor has an extension lead. melts: that it has been through. held_within_k: how
    well a comparison with a second, calibrated probe at that temperature holds; it stands for wire, lead and ageing.
    """
    least_k, share, source = CLASSES[kind]
    parts = [
        Part("wire of the sensor", max(least_k, share * at_c), source),
        *([Part("extension lead", 2.5, "IEC 60584-3, KX class 2: 2.5 K (from memory)")] if extension else []),
        Part(
            "ageing and ordering", 1.0 if melts < 5 else 4.0, "1 to 4 K, up to 1.7 % in tests: ORNL-TM-4862, abstract"
        ),
    ]
    if held_within_k is not None and held_within_k < sqrt(sum(part.limit_k**2 for part in parts)):
        parts = [
            Part("compared with a second probe", held_within_k, "your own dip readings: their spread and the probe")
        ]
    parts += [
        Part("converter", 2.0 if at_c <= 700.0 else 4.0, "MAX31855 data sheet: 2 K to 700 °C, 4 K above (from memory)"),
        Part("cold junction", 2.0, "MAX31855 data sheet: 2 K (from memory)"),
    ]
    limit_k = sqrt(sum(part.limit_k**2 for part in parts))
    words = f"The number may be {limit_k:.0f} K off at {at_c:.0f} °C; the metal may be 5 to 40 K from it besides."
    return Accuracy(round(limit_k, 1), at_c, tuple(parts), words)
