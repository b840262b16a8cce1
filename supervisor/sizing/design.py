"""An element for a circuit and a chamber: every wire that could be taken, with what stands against each."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

from supervisor.refusal import InputRefused
from supervisor.sizing import elements, limits
from supervisor.sizing.alloys import Alloy, limit_c
from supervisor.sizing.chamber import Place
from supervisor.sizing.circuits import Circuit
from supervisor.sizing.coils import Coil, drawn, outside_for
from supervisor.sizing.gauges import Gauge
from supervisor.sizing.limits import Remark

STRETCH, RATIO = 3.0, 9.0
"""What is aimed at: the middle of what is usual."""

MARGIN_MM = 20.0
"""No groove nearer to floor or lid; between grooves as much brick as the coil is wide (ours)."""

ABOUT = 0.25
"""Surface loads within some quarter of each other are as good: then the shorter wire comes first (ours)."""

HALF_MM = 0.5
"""Coils are wound on mandrels in such steps."""

NEAR = (0.3, 2.2)
"""Candidates are shown whose surface load lies within these shares of the usual one."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for. watts None: what the circuit carries; rounds None: what fits best."""

    circuit: Circuit
    place: Place
    watts: float | None
    alloys: tuple[Alloy, ...]
    gauges: tuple[Gauge, ...]
    groove_mm: float  # width of the widest groove
    rounds: int | None
    load_w_cm2: float | None
    seen: float  # share of the coil's surface that radiates
    elements: int
    in_series: bool  # else side by side


@dataclass(frozen=True, slots=True)
class Candidate:
    """One wire, wound and laid in. Watts, amps and ohms of all elements together, the rest for each."""

    alloy: Alloy
    wire: Gauge
    watts: float
    hot_ohm: float
    cold_ohm: float
    each_hot_ohm: float
    each_cold_ohm: float
    factor: float
    hot_a: float
    cold_a: float
    load_w_cm2: float
    element_c: float
    limit_c: float | None
    length_m: float
    grams: float
    coil: Coil | None  # None: the wire is shorter than the groove
    rounds: int
    round_mm: float
    remarks: tuple[Remark, ...]

    @property
    def refused(self) -> bool:
        """Something forbids it."""
        return any(remark.kind == "refused" for remark in self.remarks)

    @property
    def verdict(self) -> str:
        """In a word."""
        return "refused" if self.refused else "with care" if self.remarks else "fits"


def largest_w(circuit: Circuit, place: Place, factor: float) -> float:
    """The power that keeps the circuit's current for hours, cold and at the top of the supply's band too, W.

    No more than the wall takes easily.
    """
    cold_ohm = circuit.most_v / circuit.allowed_a
    return min(circuit.volts**2 / (cold_ohm * factor), limits.WALL_EASY_KW_M2 * 1000.0 * place.inside_m2)


def candidates(wanted: Wanted, hold_w: float) -> list[Candidate]:
    """All wires near the usual surface load: what fits best first, what is refused last.

    Raises:
        InputRefused: nothing comes near.
    """
    found = []
    for of in wanted.alloys:
        usual = wanted.load_w_cm2 or limits.usual_load(of, wanted.place.target_c)
        for gauge in wanted.gauges:
            one = candidate(wanted, of, gauge, hold_w)
            if one is not None and NEAR[0] * usual <= one.load_w_cm2 <= NEAR[1] * usual:
                off = int(abs(log(one.load_w_cm2 / usual)) / ABOUT)
                found.append((one.refused, len(one.remarks), off, one.length_m, one))
    if not found:
        raise InputRefused(
            "no wire of the list comes near the surface load; allowed: another power, load or list of wires"
        )
    return [one for *_, one in sorted(found, key=lambda row: row[:4])]


def candidate(wanted: Wanted, of: Alloy, wire: Gauge, hold_w: float) -> Candidate | None:
    """One wire; None: its alloy's table ends below the temperature that it would have."""
    circuit, place, count = wanted.circuit, wanted.place, wanted.elements
    furnace_c = place.target_c
    if furnace_c > of.hot_over_cold[-1][0]:
        return None
    factor = of.factor(furnace_c)
    load = hot_c = 0.0
    watts = each_cold = each_hot = length_m = 0.0
    for _ in range(6):  # resistance, surface load and temperature hang together, weakly
        watts = wanted.watts or largest_w(circuit, place, factor)
        hot_ohm = circuit.volts**2 / watts
        each_hot = hot_ohm / count if wanted.in_series else hot_ohm * count
        each_cold = each_hot / factor
        length_m = each_cold * wire.area_mm2 / of.resistivity_ohm_mm2_m
        load = elements.load_w_cm2(watts / count, wire.mm, length_m)
        hot_c = elements.element_c(load, furnace_c, of.emissivity, wanted.seen)
        if hot_c > of.hot_over_cold[-1][0]:
            return None
        factor = of.factor(hot_c)
    coil, rounds, round_mm = _coil(wanted, wire, length_m)
    hot_ohm, limit = circuit.volts**2 / watts, limit_c(of, wire)
    remarks = [
        *limits.of_current(circuit, watts / circuit.volts, hot_ohm / factor),
        *limits.of_heat(of, load, furnace_c, hot_c, limit),
        *(limits.of_coil(coil, wanted.groove_mm) if coil else [_too_short(length_m, rounds, round_mm)]),
        *limits.of_wall(watts, place.inside_m2),
        *limits.of_holding(circuit, watts, hold_w, furnace_c),
    ]
    grams = length_m * wire.area_mm2 * of.density_g_cm3
    return Candidate(
        of, wire, watts, hot_ohm, hot_ohm / factor, each_hot, each_cold, factor, watts / circuit.volts,
        circuit.volts * factor / hot_ohm, load, hot_c, limit, length_m, grams, coil, rounds, round_mm, tuple(remarks),
    )  # fmt: skip


def round_mm(place: Place, coil_mm: float) -> float:
    """Once around the chamber along the middle of a groove as deep as the coil is wide, mm."""
    return place.chamber.round_m / place.chamber.across_m * (1000.0 * place.chamber.across_m + coil_mm)


def most_rounds(place: Place, coil_mm: float, count: int) -> int:
    """Rounds that fit above each other for each of `count` elements, one at least."""
    room_mm = 1000.0 * place.chamber.depth_m - 2.0 * MARGIN_MM + coil_mm
    return max(1, int(room_mm / (2.0 * coil_mm)) // count)


def _coil(wanted: Wanted, wire: Gauge, length_m: float) -> tuple[Coil | None, int, float]:
    """The coil that fits best, its rounds, and the length of one."""
    usual_mm = RATIO * wire.mm
    tried: Sequence[int] = (
        [wanted.rounds] if wanted.rounds else range(1, most_rounds(wanted.place, usual_mm, wanted.elements) + 1)
    )
    best: tuple[tuple[bool, float], Coil | None, int, float] | None = None
    for rounds in tried:
        outside_mm = usual_mm
        for _ in range(3):
            groove_mm = rounds * round_mm(wanted.place, outside_mm)
            outside_mm = outside_for(wire.mm, length_m, groove_mm, STRETCH)
        outside_mm = min(round(outside_mm / HALF_MM) * HALF_MM, wanted.groove_mm - limits.GROOVE_CLEAR_MM)
        groove_mm = rounds * round_mm(wanted.place, outside_mm)
        if outside_mm <= 2.0 * wire.mm or 1000.0 * length_m <= groove_mm:
            coil = None
        else:
            coil = drawn(wire.mm, outside_mm, length_m, groove_mm)
        bad = coil is None or any(remark.kind == "refused" for remark in limits.of_coil(coil, wanted.groove_mm))
        worth = (bad, 9.0 if coil is None else abs(log(coil.ratio / RATIO)) + abs(log(coil.stretch / STRETCH)))
        if best is None or worth < best[0]:
            best = (worth, coil, rounds, groove_mm / rounds)
    assert best is not None
    return best[1:]


def _too_short(length_m: float, rounds: int, one_mm: float) -> Remark:
    words = f"{length_m:.1f} m of wire make no coil for {rounds} round{'s' * (rounds != 1)} of {one_mm:.0f} mm"
    return Remark("refused", words, "geometry")
