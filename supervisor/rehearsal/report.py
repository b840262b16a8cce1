"""What a rehearsal says: one plain object for programs, a few lines for people."""

from typing import Any

from supervisor.model.forecast import Forecast
from supervisor.rehearsal.rehearse import Outcome
from supervisor.rehearsal.truth import Truth


def as_object(outcome: Outcome) -> dict[str, Any]:
    """The report with stable names; units are in the names. Every figure is simulated."""
    results, truth, profile = outcome.results, outcome.truth, outcome.wish.profile
    mass_kg = None if profile.charge is None else profile.charge.mass_kg
    energy_kwh = results.get("energy_wh", 0.0) / 1000.0
    after = outcome.after_fault_s
    return {
        "simulated": True,
        "profile": profile.name,
        "furnace": outcome.wish.furnace.name,
        "seed": outcome.wish.seed,
        "controller": outcome.wish.controller,
        "metered": outcome.wish.furnace.pulses_per_kwh is not None,
        "learned_from": [] if outcome.wish.knowing is None else list(outcome.wish.knowing.learned_from),
        "state": outcome.state,
        "peak_c": results.get("peak_c"),
        "overshoot_c": results.get("overshoot_c"),
        "minutes_to_pour": _minutes(truth.pour_s),
        "minutes_to_molten": _minutes(truth.molten_s),
        "forecast": None if outcome.forecast is None else outcome.forecast.as_object(),
        "gate_asked_min": _minutes(truth.gate_s),
        "boost_min": round(truth.boost_s / 60.0, 1),
        "boost_why_off": outcome.boost,
        "estimate": _estimate(truth),
        "countdown_15_min_before": _countdown(truth),
        "metal_peak_c": round(truth.metal_peak_c, 1) if mass_kg else None,
        "share_molten_most": round(truth.share_molten_most, 4),
        "energy_kwh": round(energy_kwh, 4),
        "energy_to_pour_kwh": None if truth.pour_wh is None else round(truth.pour_wh / 1000.0, 4),
        "allowance_kwh": round(results.get("allowance_wh", 0.0) / 1000.0, 4),
        "kwh_per_kg": round(energy_kwh / mass_kg, 4) if mass_kg else None,
        "lid_openings": results.get("lid_openings"),
        "poured": results.get("poured"),
        "alarms": outcome.alarms,
        "first_cause": outcome.first_cause,
        "heat_off_after_s": after.get("relay") if after else None,
        "enable_off_after_s": after.get("enable") if after else None,
        "contactor_open_after_s": after.get("contactor") if after else None,
        "simulated_s": round(outcome.simulated_s, 2),
        "cycles": outcome.cycles,
        "bus_reads": outcome.bus_reads,
        "permit_edges": outcome.permit_edges,
        "wall_s": round(outcome.wall_s, 3),
        "times_real_time": round(outcome.simulated_s / outcome.wall_s, 1) if outcome.wall_s else None,
        "cycle_us": round(outcome.wall_s / outcome.cycles * 1e6, 2) if outcome.cycles else None,
    }


def in_words(outcome: Outcome) -> list[str]:
    """The report for the person who will stand at the furnace."""
    report, profile = as_object(outcome), outcome.wish.profile
    lines = [f"Rehearsed {profile.name} on {outcome.wish.furnace.title} (simulated): {outcome.state}."]
    if report["first_cause"]:
        first = next(row for row in outcome.alarms if row["watch"] == report["first_cause"])
        lines.append(f"First cause: {first['watch']}: {first['evidence']}.")
    if outcome.wish.faults:
        name = outcome.wish.faults[0][0]
        for key, what in (("relay", "relay off"), ("enable", "enable off"), ("contactor", "contactor open")):
            seconds = outcome.after_fault_s[key]
            lines.append(f"After {name}: {what} " + ("never." if seconds is None else f"within {seconds:.2f} s."))
    if report["minutes_to_pour"] is not None:
        lines.append(
            f"All molten after {report['minutes_to_molten']:.0f} min; coldest metal at {profile.pour_c:g} °C after "
            f"{report['minutes_to_pour']:.0f} min; hottest metal {report['metal_peak_c']:.0f} °C (the plant's truth)."
        )
    elif profile.charge is not None:
        lines.append(f"Not fit to pour: {report['share_molten_most']:.0%} molten at most (the plant's truth).")
    lines += _against_the_forecast(report, outcome)
    lines += _against_the_truth(report)
    peak_c, kwh = report["peak_c"] or 0.0, report["energy_kwh"]
    per_kg = "" if report["kwh_per_kg"] is None else f", {report['kwh_per_kg']:.2f} kWh per kg"
    lines.append(f"Chamber peak {peak_c:.0f} °C; {kwh:.2f} kWh of {report['allowance_kwh']:.2f} allowed{per_kg}.")
    lines.append(
        f"{report['simulated_s'] / 60:.0f} min of firing in {report['wall_s']:.1f} s: "
        f"{report['times_real_time']:.0f} times real time, {report['cycles']} cycles."
    )
    return lines


def forecast_words(forecast: Forecast, *, cap_c: float | None) -> list[str]:
    """What will be needed, before anything is heated."""
    by = "learned from this furnace's firings" if forecast.learned else "by the data sheets alone, so roughly"
    minutes, gate = forecast.minutes, forecast.gate_asks_min
    cost = "" if forecast.cost is None else f", costing {forecast.cost:.2f} {forecast.currency}".rstrip()
    if minutes is None:
        lines = [f"Forecast ({by}): {forecast.kwh:.2f} kWh{cost}."]
    else:
        lines = [
            f"Forecast ({by}): fit to pour after {minutes.likely:.0f} min ({minutes.low:.0f} to {minutes.high:.0f}), "
            f"{forecast.kwh:.2f} kWh by then{cost}."
        ]
    if gate is not None:
        lines.append(f"The gate asks for a press after {gate.likely:.0f} min, {gate.early:.0f} at the earliest.")
    if cap_c is not None:
        lines.append(f"While the metal is cold the chamber may go to {cap_c:.0f} °C.")
    return lines


def _against_the_forecast(report: dict[str, Any], outcome: Outcome) -> list[str]:
    forecast = outcome.forecast
    if forecast is None or forecast.minutes is None or report["minutes_to_pour"] is None:
        return []
    came, likely = report["minutes_to_pour"], forecast.minutes.likely
    gate = "" if report["gate_asked_min"] is None else f"; the gate asked after {report['gate_asked_min']:.0f} min"
    lines = [
        f"Forecast {likely:.1f} min, {forecast.kwh:.2f} kWh; it came to {came:.1f} min ({came / likely - 1:+.0%}), "
        f"{report['energy_to_pour_kwh']:.2f} kWh{gate}."
    ]
    if report["boost_min"]:
        lines.append(f"Boosted for {report['boost_min']:.0f} min. {report['boost_why_off']}".rstrip())
    return lines


def _against_the_truth(report: dict[str, Any]) -> list[str]:
    lines = []
    if report["estimate"]:
        phases = ", ".join(
            f"{phase} {each['rms_k']:.0f} K (band held {each['coverage']:.0%})"
            for phase, each in report["estimate"].items()
        )
        lines.append(f"Metal as estimated, off by (rms, simulated): {phases}.")
    told = report["countdown_15_min_before"]
    if told is not None:
        lines.append(
            f"With {told['true_min']:.0f} min to go the countdown said {told['likely_min']:.0f} "
            f"({told['low_min']:.0f} to {told['high_min']:.0f})."
        )
    return lines


def _estimate(truth: Truth) -> dict[str, dict[str, float]]:
    return {
        phase: {
            "rms_k": round(errors.rms_k, 2),
            "bias_k": round(errors.bias_k, 2),
            "coverage": round(errors.coverage, 3),
            "looks": errors.count,
        }
        for phase in ("solid", "melting", "liquid")
        if (errors := truth.errors.get(phase)) is not None
    }


def _countdown(truth: Truth) -> dict[str, float] | None:
    told = truth.told
    if told is None:
        return None
    said = told.said
    return {
        "likely_min": round(said.likely, 2),
        "low_min": round(said.low, 2),
        "high_min": round(said.high, 2),
        "true_min": round(told.true, 2),
    }


def _minutes(seconds: float | None) -> float | None:
    return None if seconds is None else round(seconds / 60.0, 2)
