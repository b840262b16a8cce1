"""What sizing came to, in lines for a person."""

from collections.abc import Mapping
from typing import Any

from supervisor.alarms.cautions import all_cautions

SHOWN_FITS, SHOWN_REFUSED = 7, 3
CAUTIONS = ("mains", "not-the-protection", "distance")


def cautions_lines() -> list[str]:
    """The cautions of the moment: wiring, and where a hot thing stands."""
    return ["", *(f"Caution: {each.title}. {each.say}" for each in all_cautions() if each.id in CAUTIONS)]


def shown(candidates: list[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """The candidates that a person is shown: the best, and the first that are refused."""
    fits = [each for each in candidates if each["verdict"] != "refused"][:SHOWN_FITS]
    return fits + [each for each in candidates if each["verdict"] == "refused"][:SHOWN_REFUSED]


def design_lines(answer: Mapping[str, Any]) -> list[str]:
    """The whole answer of an element."""
    best, here = answer["best"], answer["circuit"]
    lines = [answer["headline"], "", *_circuit(here), ""]
    lines += ["wire       alloy               A    hot/cold ohm  W/cm²  wire °C  wire m  coil mm  turns  rounds"]
    lines += [row for each in shown(answer["candidates"]) for row in _row(each)]
    lines += ["", f"The first one: {best['alloy_words']}, {best['wire']}"]
    lines += _coil(best)
    lines += ["", *_heat(answer)]
    lines += [f"{_kind(each)} {each['words']} ({each['rule']})" for each in answer["remarks"]]
    lines += [_switching(answer["switching"])]
    lines += ["", answer["give"], answer["not_covered"], here["defers"]]
    lines += ["", "For the furnace file:", *(f"  {line}".rstrip() for line in answer["furnace_file"].splitlines())]
    return lines


def having_lines(answer: Mapping[str, Any]) -> list[str]:
    """The whole answer of a coil that is there."""
    lines = [answer["headline"]]
    if answer["circuit"]:
        here = answer["circuit"]
        lines += ["", *_circuit(here)]
        lines += [
            f"Hot {answer['hot_ohm']:.2f} ohm, {answer['hot_over_cold']:.3f} times cold; cold {answer['cold_a']:.1f} A"
        ]
        low, high = answer["power_at_least_v_w"], answer["power_at_most_v_w"]
        lines += [f"At {here['least_v']:.0f} V {low:.0f} W, at {here['most_v']:.0f} V {high:.0f} W"]
        limit = answer["element_limit_c"]
        wire = f"{answer['surface_load_w_cm2']:.2f} W/cm², wire {answer['element_c']:.0f} °C"
        lines += [f"{wire} in a chamber of {answer['furnace_c']:.0f}" + (f", limit {limit:.0f}" if limit else "")]
        lines += [_switching(answer["switching"])]
    if answer["coil"]:
        lines += _coil({**answer, "rounds": None})
    lines += [f"{_kind(each)} {each['words']} ({each['rule']})" for each in answer["remarks"]]
    lines += ["", answer["give"]]
    return [*lines, answer["circuit"]["defers"]] if answer["circuit"] else lines


def _circuit(here: Mapping[str, Any]) -> list[str]:
    stricter = f"; {here['stricter']}" if here["stricter"] else ""
    supply = f"{here['supply_v']:g} V on a {here['breaker_a']:g} A breaker"
    return [
        f"{supply}, {here['place_words']}: {here['allowed_a']:g} A for hours",
        f"  by {here['rule']}{stricter}: {here['rule_asks']} ({here['rule_evidence']})",
    ]


def _switching(of: Mapping[str, float]) -> str:
    relay = f"relay of {of['ssr_a']:.0f} A at least on a heat sink of {of['heat_sink_k_w']:.1f} K/W or better"
    contactor = f"contactor AC-1 of {of['contactor_ac1_a']:.0f} A (rules of the trade)"
    return f"For who wires it: {relay} ({of['ssr_loss_w']:.0f} W), {contactor}"


def _row(each: Mapping[str, Any]) -> list[str]:
    coil = each["coil"] or {"outside_mm": 0.0, "turns": 0.0}
    ohms = f"{each['hot_ohm']:6.2f}/{each['cold_ohm']:6.2f}"
    row = (
        f"{each['wire']:<11}{each['alloy_words']:<18}{each['hot_a']:5.1f}  {ohms}"
        f"{each['surface_load_w_cm2']:7.2f}{each['element_c']:9.0f}{each['wire_length_m']:8.2f}{coil['outside_mm']:9.1f}"
        f"{coil['turns']:7.0f}{each['rounds']:8d}"
    )
    return [row, *(f"    {_kind(remark)} {remark['words']} ({remark['rule']})" for remark in each["remarks"])]


def _coil(of: Mapping[str, Any]) -> list[str]:
    coil = of["coil"]
    if not coil:
        return []
    wound = f"{coil['turns']:.0f} turns on a mandrel of {coil['mandrel_mm']:.1f} mm: {coil['outside_mm']:g} mm outside"
    lines = [f"  {wound}, {coil['closed_mm']:.0f} mm long closed"]
    if coil["stretch"] > 1.001:
        drawn = f"drawn out {coil['stretch']:.2f} times to {coil['stretched_mm']:.0f} mm, a turn"
        drawn += f" each {coil['pitch_mm']:.2f} mm"
        plural = "s" if of["rounds"] != 1 else ""
        rounds = f": {of['rounds']} round{plural} of {of['round_mm']:.0f} mm" if of["rounds"] else ""
        lines.append(f"  {drawn}{rounds}")
    return [*lines, "  tails are extra wire, twisted double or treble, so that they stay cold in the brick"]


def _heat(answer: Mapping[str, Any]) -> list[str]:
    heat, chamber = answer["heat"], answer["chamber"]
    parts = ", ".join(f"{name} {watts:.0f}" for name, watts in heat["loss_parts_w"].items())
    lines = [
        f"At {chamber['target_c']:.0f} °C: loses {heat['closed_wall_loss_w']:.0f} W ({parts})",
        f"To hold it, with seams and holes, {heat['hold_w']:.0f} W; an open lid radiates {heat['open_lid_w']:.0f} W",
        f"Shell {heat['shell_mean_c']:.0f} °C in the mean, {heat['shell_face_middle_c']:.0f} in the middle of a face",
        f"From cold, pot empty: {_time(heat['empty'])} to {chamber['target_c']:.0f} °C",
    ]
    if heat["metal_kg"]:
        lines.append(
            f"{heat['metal_kg']:.2f} kg of aluminium from cold: all liquid in {_time(heat['liquid'])},"
            f" {heat['pour_c']:.0f} °C in {_time(heat['pour'])}"
        )
    lines.append(f"A ramp of {heat['ramp_c_per_h']:.0f} K/h takes {heat['ramp_w']:.0f} W at its end, without metal")
    return lines


def _time(found: Mapping[str, Any]) -> str:
    if found["minutes"] is None:
        return "more than a day"
    return f"about {found['minutes']:.0f} min, {found['kwh']:.1f} kWh"


def _kind(remark: Mapping[str, str]) -> str:
    return {"refused": "Refused:", "warned": "Care:", "note": "Note:"}[remark["kind"]]
