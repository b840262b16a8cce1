"""The other way round: a coil that is there, and what it does on a circuit."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from math import hypot, pi

from supervisor.furnace.shape import OCTAGON_SIDE
from supervisor.refusal import InputRefused
from supervisor.sizing import elements, limits
from supervisor.sizing import quantities as q
from supervisor.sizing.alloys import Alloy, alloy, checked_factor, limit_c, with_factors
from supervisor.sizing.asked import supply
from supervisor.sizing.circuits import Circuit
from supervisor.sizing.coils import Coil, drawn, turns_m, wound
from supervisor.sizing.fields import Field, Typed, read
from supervisor.sizing.gauges import Gauge, gauge
from supervisor.sizing.limits import Remark

OFF_WARNED, OFF_REFUSED = 0.08, 0.25
"""A measured resistance off from what the length says: ±5 % of the stock (Isabellenhütte, data sheet ISA-CHROM 80), 2 %
for a per cent of diameter; from a quarter on it is another wire (ours)."""

FIELDS: Mapping[str, Field] = {
    "length": Field(q.LENGTH, 100.0, 500_000.0),
    "cold": Field(q.RESISTANCE, 0.05, 2000.0),
    "turns": Field(q.NUMBER, 2.0, 20_000.0),
    "outside": Field(q.LENGTH, 1.0, 100.0),
    "per_length": Field(q.PER_LENGTH, 0.001, 1000.0),
    "resistivity": Field(q.RESISTIVITY, 0.01, 10.0),
    "ratio": Field(q.NUMBER, 0.01, 100.0),
    "stretched": Field(q.LENGTH, 20.0, 100_000.0),
    "rounds": Field(q.NUMBER, 1.0, 60.0),
    "groove": Field(q.LENGTH, 2.0, 60.0),
    "target": Field(q.TEMPERATURE, 20.0, 1200.0, 800.0),
    "emissivity": Field(q.NUMBER, 0.05, 1.0, 0.7),
    "seen": Field(q.NUMBER, 0.1, 1.0, elements.IN_A_GROOVE),
}
"""The fields of a coil."""


_of = partial(read, fields=FIELDS)


@dataclass(frozen=True, slots=True)
class Having:
    """What a coil is and does. None: not asked, or it cannot be told from what was given."""

    alloy: Alloy | None
    wire: Gauge
    ohm_per_m: float
    length_m: float
    cold_ohm: float
    coil: Coil | None
    rounds: int | None
    circuit: Circuit | None
    factor: float | None
    hot_ohm: float | None
    watts: float | None
    load_w_cm2: float | None
    element_c: float | None
    limit_c: float | None
    furnace_c: float
    remarks: tuple[Remark, ...]

    @property
    def turn_mm(self) -> float | None:
        """Wire in one close-wound turn."""
        return None if self.coil is None else hypot(pi * self.coil.mean_mm, self.wire.mm)

    @property
    def round_mm(self) -> float | None:
        """One round of the groove."""
        return None if self.coil is None or not self.rounds else self.coil.stretched_mm / self.rounds


def sides(round_mm: float) -> dict[str, float]:
    """The chamber whose groove is one such round, along the groove's middle, mm."""
    return {
        "square_side_mm": round_mm / 4.0,
        "circle_diameter_mm": round_mm / pi,
        "octagon_side_mm": round_mm / 8.0,
        "octagon_across_mm": round_mm / 8.0 / OCTAGON_SIDE,
    }


def having(typed: Typed) -> Having:
    """What this coil gives.

    Raises:
        InputRefused: it is steel, or grows too much in resistance; a field is missing, or fields contradict each other.
    """
    of, ratio = _what_of(typed)
    wire = gauge(typed.get("wire", ""), "wire")
    ohm_per_m = _ohm_per_m(typed, of, wire)
    length_m, cold_ohm, remarks = _how_much(typed, wire, ohm_per_m)
    coil, rounds = _coil(typed, wire, length_m)
    if coil is not None and coil.stretched_mm > 1.001 * coil.closed_mm:
        groove_mm = _of(typed, "groove")
        remarks += limits.of_coil(coil, groove_mm if groove_mm else float("inf"))
    here, furnace_c = None, _of(typed, "target") or 800.0
    factor = hot_ohm = watts = load = hot_c = limit = None
    if typed.get("volts", "").strip():
        here = supply(typed)
        factor, hot_ohm, watts, load, hot_c = _working(typed, of, ratio, here, wire, length_m, cold_ohm)
        remarks += limits.of_current(here, here.volts / hot_ohm, cold_ohm)
        if of is not None:
            limit = limit_c(of, wire)
            remarks += limits.of_heat(of, load, furnace_c, hot_c, limit)
    return Having(
        of, wire, ohm_per_m, length_m, cold_ohm, coil, rounds, here, factor, hot_ohm, watts, load, hot_c, limit,
        furnace_c, tuple(remarks),
    )  # fmt: skip


def _what_of(typed: Typed) -> tuple[Alloy | None, float | None]:
    """The alloy, and a hot over cold ratio that was given instead of its table."""
    name, factors = typed.get("alloy", "").strip(), typed.get("factors", "").strip()
    of = alloy(name) if name else None
    if factors:
        if of is None:
            raise InputRefused("factors is given without alloy; allowed: both, or a ratio")
        of = with_factors(of, factors)
    ratio = _of(typed, "ratio")
    return of, None if ratio is None else checked_factor(ratio, "ratio of hot to cold resistance")


def _ohm_per_m(typed: Typed, of: Alloy | None, wire: Gauge) -> float:
    measured, resistivity = _of(typed, "per_length"), _of(typed, "resistivity")
    if measured is not None:
        return measured
    if resistivity is None and of is None:
        raise InputRefused("alloy is missing; allowed: the wire's alloy, its resistivity, or its ohms a length")
    return (resistivity or (of.resistivity_ohm_mm2_m if of else 0.0)) / wire.area_mm2


def _how_much(typed: Typed, wire: Gauge, ohm_per_m: float) -> tuple[float, float, list[Remark]]:
    """Length and cold resistance, from whichever is known; two that disagree are told."""
    length_mm, cold, turns, outside = (_of(typed, name) for name in ("length", "cold", "turns", "outside"))
    length_m = None if length_mm is None else length_mm / 1000.0
    if length_m is None and turns is not None and outside is not None:
        length_m = turns_m(wire.mm, outside, turns)
    if length_m is None and cold is None:
        raise InputRefused(
            "length is missing; allowed: the wire's length, its cold ohms, or turns with the outside diameter"
        )
    if length_m is None:
        assert cold is not None
        return cold / ohm_per_m, cold, []
    says = length_m * ohm_per_m
    if cold is None:
        return length_m, says, []
    off = abs(cold / says - 1.0)
    if off > OFF_REFUSED:
        raise InputRefused(
            f"cold is {cold:g} ohm; allowed: about {says:.1f} ohm, which {length_m:.2f} m of {wire.name} have: it is"
            " another wire, or wrongly measured"
        )
    words = f"measured {cold:g} ohm, {says:.1f} by the length: {100 * off:.0f} % off; the measured one is taken"
    return length_m, cold, [Remark("warned", words, "stock wire ±5 %, data sheet")] if off > OFF_WARNED else []


def _coil(typed: Typed, wire: Gauge, length_m: float) -> tuple[Coil | None, int | None]:
    outside, stretched, rounds = (_of(typed, name) for name in ("outside", "stretched", "rounds"))
    count = None if rounds is None else int(rounds)
    if outside is None:
        return None, count
    if stretched is None:
        return wound(wire.mm, outside, length_m), count
    return drawn(wire.mm, outside, length_m, stretched), count


def _working(
    typed: Typed, of: Alloy | None, ratio: float | None, here: Circuit, wire: Gauge, length_m: float, cold_ohm: float
) -> tuple[float, float, float, float, float]:
    """Factor, hot resistance, power, surface load and temperature of the wire at work."""
    if of is None and ratio is None:
        raise InputRefused("alloy is missing; allowed: the wire's alloy, or its ratio of hot to cold resistance")
    furnace_c, seen = _of(typed, "target") or 800.0, _of(typed, "seen") or elements.IN_A_GROOVE
    emissivity = of.emissivity if of else _of(typed, "emissivity") or 0.7
    factor, load, hot_c = ratio or 1.0, 0.0, furnace_c
    for _ in range(6):  # resistance, surface load and temperature hang together, weakly
        if ratio is None and of is not None:
            factor = of.factor(hot_c)
        load = elements.load_w_cm2(here.volts**2 / (cold_ohm * factor), wire.mm, length_m)
        hot_c = elements.element_c(load, furnace_c, emissivity, seen)
    return factor, cold_ohm * factor, here.volts**2 / (cold_ohm * factor), load, hot_c
