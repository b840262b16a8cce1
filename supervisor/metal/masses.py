"""Masses as people type them. A mass has no default, and one that cannot be is answered with a sentence."""

import re

from supervisor.refusal import InputRefused

MOST_KG = 200.0
"""More than a lot of a home workshop weighs: whoever types it reads grams off the scale."""

FEW_GRAMS = 50.0
"""A number from here on may be grams; nobody charges less."""

_TYPED = re.compile(r"([+-]?)\s*(\d{0,9}(?:[.,]\d{0,9})?)\s*([a-zA-Z]*)")
_NOTHING = re.compile(r"0+(?:[.,]0*)?\s*(?:kg|g)?")
_UNITS = {"": 1.0, "kg": 1.0, "g": 0.001}
_FOREIGN = {"lb": 0.45359237, "lbs": 0.45359237, "oz": 0.028349523125}  # kg each, exact


def kg_of(typed: str, *, most_kg: float = MOST_KG, most_is: str = "the most that a lot here may weigh") -> float:
    """kg as typed: '2.4', '2,4', '2.4 kg' and '2400 g' are the same.

    most_kg, most_is: the highest that is allowed, and what it is, for the sentence.

    Raises:
        InputRefused: nothing was typed, or no mass that can be; the sentence says what it may have been meant for.
    """
    text = typed.strip()
    if not text:
        raise InputRefused("Mass is empty; it has no default. Weigh it, and type kg.")
    found = _TYPED.fullmatch(text)
    if found is None or not any(letter.isascii() and letter.isdigit() for letter in found[2]):
        two = " A point or a comma, not both." if "." in text and "," in text else ""
        raise InputRefused(f"Mass is {text[:20]!r}; allowed: a number of kg, as 2.40 or 2,40.{two}")
    number, unit = float(found[2].replace(",", ".")), found[3].lower()
    if found[1] == "-":
        raise InputRefused(f"Mass is {text}; allowed: above 0 kg. To take mass away, weigh the lot again.")
    if unit in _FOREIGN:
        raise InputRefused(f"Mass is {text}; allowed: kg. {text} are {number * _FOREIGN[unit]:.3f} kg: type that.")
    if unit not in _UNITS:
        raise InputRefused(f"Mass is {text[:20]!r}; allowed: kg, or g")
    return checked_kg(number * _UNITS[unit], most_kg=most_kg, most_is=most_is)


def kg_or_none_of(typed: str) -> float:
    """kg as typed, where nothing is an answer too: '0', '0,00', '0 g' are 0 kg.

    Raises:
        InputRefused: as `kg_of`.
    """
    return 0.0 if _NOTHING.fullmatch(typed.strip().lower()) else kg_of(typed)


def checked_kg(kg: float, *, most_kg: float, most_is: str) -> float:
    """A mass, if it can be.

    Raises:
        InputRefused: it is not above 0 kg, or more than allowed.
    """
    if not 0.0 < kg < float("inf"):
        raise InputRefused(f"Mass is {kg:g} kg; allowed: above 0 kg")
    if kg > most_kg:
        may_be_grams = FEW_GRAMS <= kg <= 1000.0 * most_kg
        grams = f" If the scale shows grams, that is {kg / 1000.0:.3f} kg." if may_be_grams else ""
        raise InputRefused(f"Mass is {kg:g} kg; allowed: up to {most_kg:g} kg, {most_is}.{grams}")
    return kg
