"""What a design may do and what it had better not: each remark names its rule and where that comes from."""

from typing import Literal, NamedTuple

from supervisor.sizing.alloys import Alloy
from supervisor.sizing.circuits import Circuit
from supervisor.sizing.coils import Coil
from supervisor.sizing.tables import between

OURS, PRACTICE, MEMORY = "our proposal", "common practice, no source", "from memory"

HOT_REFUSED_K, HOT_WARNED_K = 50.0, 150.0
"""To the highest element temperature for the wire's size (our proposal)."""

LOADS = ((900.0, 2.0, 3.0), (1000.0, 2.0, 2.5), (1100.0, 1.6, 2.0), (1200.0, 1.25, 1.5))
"""Furnace °C, surface load that is usual and the most that is, W/cm², FeCrAl coils in open grooves. Common practice."""

NICKEL_SHARE = 2.0 / 3.0
"""Of those loads for NiCr (common practice, no source)."""

STRETCH = (2.0, 4.0)
"""Drawn out over close-wound: at least twice (trade magazine Industrial Heating, Coil heating elements); above four the
coil loses its support (common practice)."""

RATIO_USUAL, RATIO_POSSIBLE = (5.0, 14.0), (4.0, 16.0)
"""Coil over wire diameter: 5 to 12 so that it can be wound and keeps its shape (Kanthal AB, Appliance Alloys Handbook,
catalogue 1-A-4-3 (2003), p. 79), to 14 in furnace ceramics up to some 1000 °C (from memory); beyond: refused (ours)."""

GROOVE_CLEAR_MM = 1.5
"""A groove is wider than its coil by 1 to 2 mm (common practice, no source)."""

WALL_EASY_KW_M2, WALL_MOST_KW_M2 = 20.0, 40.0
"""Power over the heated wall: 10 to 20 is easy, 40 about the most for coils in grooves at 1000 °C (from memory)."""

TOUCH_C = 60.0
"""Metal hotter than this burns on short contact (ISO 13732-1; the figure from memory)."""

Kind = Literal["refused", "warned", "note"]


class Remark(NamedTuple):
    """What stands against a design: refused or warned, in a sentence, with the rule's name."""

    kind: Kind
    words: str
    rule: str

    @property
    def sentence(self) -> str:
        """Both."""
        return f"{self.words} ({self.rule})"


def usual_load(of: Alloy, furnace_c: float) -> float:
    """Surface load to aim at, W/cm²."""
    return _load(of, furnace_c, 1)


def most_load(of: Alloy, furnace_c: float) -> float:
    """Surface load that is warned of above, W/cm²."""
    return _load(of, furnace_c, 2)


def _load(of: Alloy, furnace_c: float, column: int) -> float:
    found = between([(row[0], row[column]) for row in LOADS], furnace_c)
    return found * (NICKEL_SHARE if of.is_nickel else 1.0)


def of_current(circuit: Circuit, hot_a: float, cold_ohm: float) -> list[Remark]:
    """The element's current against what the circuit carries: hot, cold, and with the supply at the top of its band."""
    rule = f"{circuit.rule.name}{f', {circuit.stricter}' if circuit.stricter else ''}"
    cold_a, most_a = circuit.volts / cold_ohm, circuit.most_v / cold_ohm
    found = []
    if hot_a > circuit.allowed_a * 1.0005:
        found.append(
            Remark("refused", f"{hot_a:.1f} A hot is more than the {circuit.allowed_a:g} A allowed for hours", rule)
        )
    elif cold_a > circuit.breaker_a:
        found.append(
            Remark("refused", f"{cold_a:.1f} A cold is more than the {circuit.breaker_a:g} A breaker carries", rule)
        )
    elif most_a > circuit.breaker_a:
        words = f"with {circuit.most_v:.0f} V, the top of the supply's band, it draws {most_a:.1f} A: over the breaker"
        found.append(Remark("refused", words, rule))
    elif max(cold_a, most_a) > circuit.allowed_a * 1.0005:
        words = (
            f"cold and with {circuit.most_v:.0f} V it draws {most_a:.1f} A, over the {circuit.allowed_a:g} A for hours"
        )
        found.append(Remark("warned", words, rule))
    return found


def of_heat(of: Alloy, load: float, furnace_c: float, element_c: float, limit_c: float | None) -> list[Remark]:
    """The wire's temperature and surface load."""
    found = []
    rule = f"highest element temperature for this size, {MEMORY}; the margin is {OURS}"
    if limit_c is None:
        found.append(Remark("refused", "the tables give no highest temperature for so thin a wire", rule))
    elif element_c > limit_c - HOT_REFUSED_K:
        found.append(Remark("refused", f"the wire runs at {element_c:.0f} °C, its limit is {limit_c:.0f} °C", rule))
    elif element_c > limit_c - HOT_WARNED_K:
        found.append(Remark("warned", f"the wire runs at {element_c:.0f} °C, its limit is {limit_c:.0f} °C", rule))
    most = most_load(of, furnace_c)
    if load > most * 1.0005:
        found.append(
            Remark("warned", f"surface load {load:.1f} W/cm² is above {most:.1f} at {furnace_c:.0f} °C", PRACTICE)
        )
    return found


def of_coil(coil: Coil, groove_mm: float) -> list[Remark]:
    """Whether it can be wound, drawn out and laid in."""
    found = []
    low, high = STRETCH
    if coil.stretch < low:
        found.append(Remark("refused", f"drawn out {coil.stretch:.1f} times only, turns touch: at least {low:g}",
                            "Industrial Heating, Coil heating elements"))  # fmt: skip
    elif coil.stretch > high:
        found.append(
            Remark("warned", f"drawn out {coil.stretch:.1f} times, the coil loses its support above {high:g}", PRACTICE)
        )
    if not RATIO_POSSIBLE[0] <= coil.ratio <= RATIO_POSSIBLE[1]:
        found.append(
            Remark(
                "refused",
                f"coil {coil.ratio:.1f} times as wide as its wire; 4 to 16 can be wound and keep their shape",
                OURS,
            )
        )
    elif not RATIO_USUAL[0] <= coil.ratio <= RATIO_USUAL[1]:
        words = f"coil {coil.ratio:.1f} times as wide as its wire; usual are 5 to 12, in furnaces up to 14"
        source = "Kanthal AB, Appliance Alloys Handbook, 1-A-4-3 (2003), p. 79, for 5 to 12; 14 from memory"
        found.append(Remark("warned", words, source))
    if coil.outside_mm > groove_mm - GROOVE_CLEAR_MM + 1e-6:
        words = f"a coil of {coil.outside_mm:g} mm does not lie freely in a groove of {groove_mm:g} mm"
        found.append(Remark("refused", words, PRACTICE))
    return found


def of_wall(watts: float, inside_m2: float) -> list[Remark]:
    """Power over the heated wall."""
    kw_m2 = watts / 1000.0 / inside_m2
    if kw_m2 > WALL_MOST_KW_M2:
        return [Remark("refused", f"{kw_m2:.0f} kW/m² of wall; 40 is about the most for coils in grooves", MEMORY)]
    if kw_m2 > WALL_EASY_KW_M2:
        return [Remark("warned", f"{kw_m2:.0f} kW/m² of wall; up to 20 is easy", MEMORY)]
    return []


def of_holding(circuit: Circuit, watts: float, hold_w: float, target_c: float) -> list[Remark]:
    """Whether it gets hot at all, also with the supply at the bottom of its band."""
    low_w = watts * (circuit.least_v / circuit.volts) ** 2
    if low_w <= hold_w:
        words = f"with {circuit.least_v:.0f} V it gives {low_w:.0f} W, and holding {target_c:.0f} °C takes {hold_w:.0f}"
        return [Remark("refused", words, "heat loss as reckoned here, seams included")]
    if low_w < 1.5 * hold_w:
        words = (
            f"with {circuit.least_v:.0f} V it gives {low_w:.0f} W, little over the {hold_w:.0f} W that holding takes"
        )
        return [Remark("warned", words, OURS)]
    return []
