"""What a rehearsal says: one plain object for programs, a few lines for people."""

from typing import Any

from supervisor.rehearsal.rehearse import Outcome


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
        "state": outcome.state,
        "peak_c": results.get("peak_c"),
        "overshoot_c": results.get("overshoot_c"),
        "minutes_to_pour": _minutes(truth.pour_s),
        "minutes_to_molten": _minutes(truth.molten_s),
        "metal_peak_c": round(truth.metal_peak_c, 1) if mass_kg else None,
        "share_molten_most": round(truth.share_molten_most, 4),
        "energy_kwh": round(energy_kwh, 4),
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
    peak_c, kwh = report["peak_c"] or 0.0, report["energy_kwh"]
    per_kg = "" if report["kwh_per_kg"] is None else f", {report['kwh_per_kg']:.2f} kWh per kg"
    lines.append(f"Chamber peak {peak_c:.0f} °C; {kwh:.2f} kWh of {report['allowance_kwh']:.2f} allowed{per_kg}.")
    lines.append(
        f"{report['simulated_s'] / 60:.0f} min of firing in {report['wall_s']:.1f} s: "
        f"{report['times_real_time']:.0f} times real time, {report['cycles']} cycles."
    )
    return lines


def _minutes(seconds: float | None) -> float | None:
    return None if seconds is None else round(seconds / 60.0, 2)
