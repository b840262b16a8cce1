"""What sizing says: one object for command, page and other programs. Names carry their units."""

from typing import Any

from supervisor.furnace.shape import shape_factor_m
from supervisor.sizing import limits
from supervisor.sizing.chamber import SEAMS, Heats, HeatUp, Place, remarks
from supervisor.sizing.circuits import DEFERS, Circuit
from supervisor.sizing.coils import Coil
from supervisor.sizing.design import Candidate, Wanted, largest_w
from supervisor.sizing.furnace_lines import answers, furnace_file
from supervisor.sizing.having import Having, sides
from supervisor.sizing.limits import Remark
from supervisor.sizing.switching import switching

GIVE = (
    "Calculated from data sheets; nothing of it was measured. Power ±3 % (FeCrAl) or ±5 % (NiCr), as makers disagree;"
    " heat loss and times ±30 %: two makers' bricks differ by 15 to 20 %, seams by more. Measure the cold resistance."
)
TRY = Remark(
    "note",
    "another power, more or fewer rounds, a wider groove, a thicker wall, or two elements side by side, each of twice"
    " the ohms, may find a wire that fits",
    "ours",
)
NOT_COVERED = (
    "Not looked at: the local code, the state of the outlet, the cable's length and route, the enclosure's insulation,"
    " earthing."
)


def of_circuit(here: Circuit) -> dict[str, Any]:
    """The circuit and whose rule holds."""
    return {
        "supply_v": here.volts,
        "least_v": here.least_v,
        "most_v": here.most_v,
        "breaker_a": here.breaker_a,
        "allowed_a": here.allowed_a,
        "place": here.rule.place,
        "place_words": here.rule.words,
        "rule": here.rule.name,
        "rule_asks": here.rule.asks,
        "rule_evidence": here.rule.evidence,
        "stricter": here.stricter,
        "defers": DEFERS,
    }


def of_remarks(found: list[Remark] | tuple[Remark, ...]) -> list[dict[str, str]]:
    """What stands against it."""
    return [remark._asdict() for remark in found]


def of_candidate(one: Candidate, place: Place) -> dict[str, Any]:
    """One wire."""
    return {
        "verdict": one.verdict,
        "alloy": one.alloy.name,
        "alloy_words": one.alloy.words,
        "wire": one.wire.name,
        "wire_mm": one.wire.mm,
        "power_w": one.watts,
        "power_give_w": one.alloy.tolerance * one.watts,
        "hot_ohm": one.hot_ohm,
        "cold_ohm": one.cold_ohm,
        "each_hot_ohm": one.each_hot_ohm,
        "each_cold_ohm": one.each_cold_ohm,
        "hot_over_cold": one.factor,
        "hot_a": one.hot_a,
        "cold_a": one.cold_a,
        "surface_load_w_cm2": one.load_w_cm2,
        "element_c": one.element_c,
        "element_limit_c": one.limit_c,
        "wire_length_m": one.length_m,
        "wire_g": one.grams,
        "wall_load_kw_m2": one.watts / 1000.0 / place.inside_m2,
        "rounds": one.rounds,
        "round_mm": one.round_mm,
        "groove_length_mm": one.rounds * one.round_mm,
        "coil": None if one.coil is None else of_coil(one.coil),
        "remarks": of_remarks(one.remarks),
    }


def of_coil(coil: Coil) -> dict[str, float]:
    """A coil's sizes."""
    return {
        "outside_mm": coil.outside_mm,
        "mandrel_mm": coil.mandrel_mm,
        "mean_mm": coil.mean_mm,
        "over_wire": coil.ratio,
        "turns": coil.turns,
        "closed_mm": coil.closed_mm,
        "stretched_mm": coil.stretched_mm,
        "pitch_mm": coil.pitch_mm,
        "stretch": coil.stretch,
    }


def of_design(wanted: Wanted, found: list[Candidate], heats: Heats, ramp_c_per_h: float) -> dict[str, Any]:
    """The whole answer of an element."""
    place, best = wanted.place, found[0]
    return {
        "circuit": of_circuit(wanted.circuit),
        "headline": headline(best, wanted.elements),
        "best": of_candidate(best, place),
        "candidates": [of_candidate(one, place) for one in found],
        "power_asked_w": wanted.watts,
        "power_by_circuit_w": largest_w(wanted.circuit, place, best.factor),
        "elements": wanted.elements,
        "join": "series" if wanted.in_series else "parallel",
        "chamber": _of_chamber(place),
        "heat": {**_of_heats(place, heats, best.watts), "ramp_c_per_h": ramp_c_per_h},
        "switching": switching(wanted.circuit.most_v / best.cold_ohm)._asdict(),
        "remarks": of_remarks([*([TRY] if best.refused else []), *remarks(place, heats.loss)]),
        "give": GIVE,
        "not_covered": NOT_COVERED,
        "furnace_file": furnace_file(wanted, best),
        "answers": answers(wanted, best),
        "sources": sources(wanted, best),
    }


def _of_chamber(place: Place) -> dict[str, Any]:
    return {
        "shape": place.chamber.form,
        "across_mm": 1000.0 * place.chamber.across_m,
        "depth_mm": 1000.0 * place.chamber.depth_m,
        "wall": [f"{layer.mm:g} mm {layer.material.words}" for layer in place.layers],
        "lid": None if place.lid is None else [f"{each.mm:g} mm {each.material.words}" for each in place.lid],
        "inside_m2": place.inside_m2,
        "shape_factor_m": shape_factor_m(place.chamber, place.thickness_m),
        "target_c": place.target_c,
        "room_c": place.outside.room_c,
    }


def _of_heats(place: Place, heats: Heats, watts: float) -> dict[str, Any]:
    lost = heats.loss
    parts = {
        "sides": lost.sides_w,
        "floor": lost.floor_w,
        "lid": lost.lid_w,
        "edges": lost.edges_w,
        "corners": lost.corners_w,
    }
    return {
        "closed_wall_loss_w": lost.whole_w,
        "loss_parts_w": parts,
        "seams": SEAMS,
        "hold_w": heats.hold_w,
        "hold_duty": heats.hold_w / watts,
        "open_lid_w": heats.open_lid_w,
        "shell_mean_c": lost.shell_c,
        "shell_face_middle_c": lost.face_middle_c,
        "joints_c": list(lost.joints_c),
        "ramp_w": heats.ramp_w,
        "stored_kwh": heats.stored_kwh,
        "empty": _of_heat_up(heats.empty),
        "metal_kg": place.metal_kg or None,
        "liquid": _of_heat_up(heats.liquid),
        "pour_c": place.pour_c if place.metal_kg else None,
        "pour": _of_heat_up(heats.pour),
    }


def headline(best: Candidate, count: int = 1) -> str:
    """The answer in a sentence."""
    if best.refused:
        return f"No wire of the list fits: {next(each.words for each in best.remarks if each.kind == 'refused')}."
    care = "" if best.verdict == "fits" else ", with care"
    each = f"{count} elements of " if count > 1 else ""
    return (
        f"{each}{best.length_m:.1f} m of {best.wire.name} {best.alloy.words}, {best.cold_ohm:.1f} ohm cold:"
        f" {best.watts / 1000:.2f} kW, {best.hot_a:.1f} A{care}."
    )


def of_having(found: Having) -> dict[str, Any]:
    """The whole answer of a coil that is there."""
    round_mm = found.round_mm
    return {
        "circuit": None if found.circuit is None else of_circuit(found.circuit),
        "headline": _having_headline(found),
        "verdict": _verdict(found.remarks),
        "alloy": None if found.alloy is None else found.alloy.name,
        "alloy_words": None if found.alloy is None else found.alloy.words,
        "wire": found.wire.name,
        "wire_mm": found.wire.mm,
        "wire_area_mm2": found.wire.area_mm2,
        "wire_surface_cm2_per_m": found.wire.surface_cm2_per_m,
        "ohm_per_m": found.ohm_per_m,
        "wire_length_m": found.length_m,
        "cold_ohm": found.cold_ohm,
        "hot_over_cold": found.factor,
        "hot_ohm": found.hot_ohm,
        "power_w": found.watts,
        "power_at_least_v_w": _at(found, found.circuit.least_v) if found.circuit else None,
        "power_at_most_v_w": _at(found, found.circuit.most_v) if found.circuit else None,
        "hot_a": None if found.watts is None or found.circuit is None else found.watts / found.circuit.volts,
        "cold_a": None if found.circuit is None else found.circuit.volts / found.cold_ohm,
        "most_a": None if found.circuit is None else found.circuit.most_v / found.cold_ohm,
        "surface_load_w_cm2": found.load_w_cm2,
        "furnace_c": found.furnace_c,
        "element_c": found.element_c,
        "element_limit_c": found.limit_c,
        "coil": None if found.coil is None else of_coil(found.coil),
        "turn_mm": found.turn_mm,
        "round_mm": round_mm,
        "round_of": None if round_mm is None else sides(round_mm),
        "switching": None if found.circuit is None else switching(found.circuit.most_v / found.cold_ohm)._asdict(),
        "remarks": of_remarks(found.remarks),
        "give": GIVE,
        "not_covered": NOT_COVERED,
        "sources": list(found.alloy.sources) if found.alloy else [],
    }


def sources(wanted: Wanted, best: Candidate) -> list[str]:
    """Whose figures these are."""
    bricks = [source for layer in wanted.place.layers for source in layer.material.sources]
    rule = f"{wanted.circuit.rule.name} ({wanted.circuit.rule.evidence})"
    fixed = [
        "Edges and corners: Holman, Heat Transfer, table 3-1 and example 3-2",
        "Outer face: Churchill and Chu, International Journal of Heat and Mass Transfer 18 (1975) 1323; emissivity 0.9",
        f"Seams, tails and holes: {limits.PRACTICE}",
    ]
    return list(dict.fromkeys([*best.alloy.sources, *bricks, rule, *fixed]))


def _of_heat_up(found: HeatUp | None) -> dict[str, float | None] | None:
    return None if found is None else {"minutes": found.minutes, "kwh": found.kwh}


def _at(found: Having, volts: float) -> float | None:
    return None if found.hot_ohm is None else volts**2 / found.hot_ohm


def _verdict(found: tuple[Remark, ...]) -> str:
    if any(remark.kind == "refused" for remark in found):
        return "refused"
    return "with care" if found else "fits"


def _having_headline(found: Having) -> str:
    size = f"{found.length_m:.2f} m of {found.wire.name}, {found.cold_ohm:.1f} ohm cold"
    if found.watts is None or found.circuit is None:
        return f"{size}."
    verdict = _verdict(found.remarks)
    end = {"fits": "", "with care": ", with care", "refused": ": not on this circuit, or not like this"}[verdict]
    return f"{size}: {found.watts / 1000:.2f} kW, {found.watts / found.circuit.volts:.1f} A hot{end}."
