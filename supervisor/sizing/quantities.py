"""Numbers with units as people write them: '114 mm', '4,5 in', '1600 F', '0.68 Btu/h/ft/F'. Read once, at the edge."""

import re
from collections.abc import Mapping
from typing import NamedTuple

from supervisor.refusal import InputRefused


class Unit(NamedTuple):
    """Value inside = typed * factor + offset."""

    factor: float
    offset: float = 0.0


class Kind(NamedTuple):
    """What is measured; its first unit is the one that is meant when none is typed, and the one used inside."""

    words: str
    units: Mapping[str, Unit]

    @property
    def inside(self) -> str:
        """The unit of the number that `read` gives."""
        return next(iter(self.units))


INCH_MM, FOOT_MM = 25.4, 304.8
POUND_KG = 0.45359237
BTU_J, CALORIE_J = 1055.05585262, 4.1868
"""Exact by definition: international yard and pound (1959), BTU and calorie of the International Table (1956)."""

_FOOT_M = FOOT_MM / 1000.0
_BTU_H_W = BTU_J / 3600.0

LENGTH = Kind(
    "a length",
    {
        "mm": Unit(1.0), "cm": Unit(10.0), "m": Unit(1000.0), "in": Unit(INCH_MM), '"': Unit(INCH_MM),
        "ft": Unit(FOOT_MM), "um": Unit(0.001), "thou": Unit(INCH_MM / 1000.0), "mil": Unit(INCH_MM / 1000.0),
    },
)  # fmt: skip
TEMPERATURE = Kind("a temperature", {"C": Unit(1.0), "F": Unit(5.0 / 9.0, -160.0 / 9.0), "K": Unit(1.0, -273.15)})
POWER = Kind("a power", {"W": Unit(1.0), "kW": Unit(1000.0), "Btu/h": Unit(_BTU_H_W)})
VOLTAGE = Kind("a voltage", {"V": Unit(1.0), "kV": Unit(1000.0)})
CURRENT = Kind("a current", {"A": Unit(1.0), "mA": Unit(0.001)})
RESISTANCE = Kind("a resistance", {"ohm": Unit(1.0), "mohm": Unit(0.001), "kohm": Unit(1000.0)})
RESISTIVITY = Kind(
    "a resistivity",
    {
        "ohm mm2/m": Unit(1.0), "uohm m": Unit(1.0), "ohm m": Unit(1e6), "uohm cm": Unit(0.01), "ohm cm": Unit(1e4),
        "ohm cmil/ft": Unit(1.6624261e-3),
    },
)  # fmt: skip
PER_LENGTH = Kind(
    "ohms a length", {"ohm/m": Unit(1.0), "ohm/ft": Unit(1.0 / _FOOT_M), "ohm/in": Unit(1000.0 / INCH_MM)}
)
SURFACE_LOAD = Kind(
    "a surface load", {"W/cm2": Unit(1.0), "W/m2": Unit(1e-4), "kW/m2": Unit(0.1), "W/in2": Unit(1.0 / 6.4516)}
)
CONDUCTIVITY = Kind(
    "a conductivity",
    {
        "W/m/K": Unit(1.0), "W/mK": Unit(1.0), "Btu/h/ft/F": Unit(_BTU_H_W / _FOOT_M * 1.8),
        "Btu in/h/ft2/F": Unit(_BTU_H_W / _FOOT_M * 1.8 / 12.0), "kcal/h/m/K": Unit(CALORIE_J / 3.6),
    },
)  # fmt: skip
FILM = Kind(
    "a film coefficient",
    {"W/m2/K": Unit(1.0), "W/m2K": Unit(1.0), "Btu/h/ft2/F": Unit(_BTU_H_W / _FOOT_M**2 * 1.8)},
)
HEAT_FLUX = Kind(
    "a heat flux",
    {"W/m2": Unit(1.0), "kW/m2": Unit(1000.0), "W/cm2": Unit(1e4), "Btu/h/ft2": Unit(_BTU_H_W / _FOOT_M**2)},
)
MASS = Kind("a mass", {"kg": Unit(1.0), "g": Unit(0.001), "lb": Unit(POUND_KG), "oz": Unit(POUND_KG / 16.0)})
DENSITY = Kind("a density", {"kg/m3": Unit(1.0), "g/cm3": Unit(1000.0), "lb/ft3": Unit(POUND_KG / _FOOT_M**3)})
SPECIFIC_HEAT = Kind(
    "a specific heat",
    {
        "J/kg/K": Unit(1.0),
        "kJ/kg/K": Unit(1000.0),
        "kcal/kg/K": Unit(1000.0 * CALORIE_J),
        "Btu/lb/F": Unit(BTU_J / POUND_KG * 1.8),
    },
)
LATENT = Kind(
    "a heat of fusion",
    {"kJ/kg": Unit(1.0), "J/kg": Unit(0.001), "kcal/kg": Unit(CALORIE_J), "Btu/lb": Unit(BTU_J / POUND_KG / 1000.0)},
)
TIME = Kind("a time", {"min": Unit(1.0), "s": Unit(1.0 / 60.0), "h": Unit(60.0), "d": Unit(1440.0)})
RATE = Kind("a rate", {"K/h": Unit(1.0), "C/h": Unit(1.0), "F/h": Unit(5.0 / 9.0), "K/min": Unit(60.0)})
NUMBER = Kind("a number", {"": Unit(1.0), "%": Unit(0.01)})

KINDS = (
    LENGTH, TEMPERATURE, POWER, VOLTAGE, CURRENT, RESISTANCE, RESISTIVITY, PER_LENGTH, SURFACE_LOAD, CONDUCTIVITY, FILM,
    HEAT_FLUX, MASS, DENSITY, SPECIFIC_HEAT, LATENT, TIME, RATE, NUMBER,
)  # fmt: skip

_TYPED = re.compile(r"\s*([+-]?(?:[0-9]{1,12}(?:[.,][0-9]{0,20})?|[.,][0-9]{1,20})(?:[eE][+-]?[0-9]{1,3})?)\s*(.*?)\s*")
_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")
_SAME = str.maketrans(
    {"²": "2", "³": "3", "·": " ", "*": " ", "°": "", "µ": "u", "μ": "u", "\u03a9": "ohm", "\u2126": "ohm", "″": '"'}
)


def read(typed: str, kind: Kind, field: str, least: float, most: float) -> float:
    """A number as typed, in the unit that is used inside. Point or comma; without a unit the usual one is meant.

    Raises:
        InputRefused: no such number or unit, or outside least to most; the sentence says what is allowed.
    """
    allowed = f"{kind.words} of {span(kind, least, most)}"
    found = _TYPED.fullmatch(typed.translate(_SAME))
    if found is None:
        raise InputRefused(f"{field} is {_shown(typed)}; allowed: {allowed}; units: {_units(kind)}")
    if _THOUSANDS.fullmatch(found[1]):
        one, other = found[1].replace(",", "."), found[1].replace(",", "")
        raise InputRefused(
            f"{field} is {_shown(typed)}, which may be {one} or {other}; allowed: either, without the comma"
        )
    unit = _unit(found[2], kind)
    if unit is None:
        raise InputRefused(f"{field} is {_shown(typed)}; allowed: {allowed}; units: {_units(kind)}")
    value = float(found[1].replace(",", ".")) * unit.factor + unit.offset
    if not least <= value <= most:
        raise InputRefused(f"{field} is {_shown(typed)}; allowed: {span(kind, least, most)}")
    return value


def write(value: float, kind: Kind, unit: str) -> str:
    """A number of ours in a person's unit: what `read` takes back."""
    chosen = kind.units[unit]
    return f"{(value - chosen.offset) / chosen.factor:.12g} {unit}".strip()


def span(kind: Kind, least: float, most: float) -> str:
    """'10 to 500 mm'."""
    inside = {"C": "°C", "W/cm2": "W/cm²", "ohm mm2/m": "ohm mm²/m"}.get(kind.inside, kind.inside)
    return f"{least:g} to {most:g} {inside}".strip()


def _unit(typed: str, kind: Kind) -> Unit | None:
    plain = " ".join(re.sub(r"[()]", " ", typed).split()).replace(" /", "/").replace("/ ", "/")
    head, slash, below = plain.partition("/")
    plain = head + slash + below.replace(" ", "/")  # 'W/(m K)' and 'kcal/kg·K' divide by both
    if not plain:
        return kind.units[kind.inside]
    if plain in kind.units:
        return kind.units[plain]
    wanted = plain.lower().removeprefix("deg").strip()
    close = [unit for name, unit in kind.units.items() if name.lower() == wanted]
    return close[0] if len(close) == 1 else None


def _units(kind: Kind) -> str:
    return ", ".join(name for name in kind.units if name) or "none"


def _shown(typed: str) -> str:
    text = " ".join(typed.split())
    return repr(text if len(text) <= 40 else text[:37] + "...")
