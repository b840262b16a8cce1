"""The report of a drill for people at a terminal. Everything in it is simulated, and it says so."""

from collections.abc import Iterator
from typing import Any

COUNTED = {"fault": "", "low duty": " (from low duty)", "first heat": " (from first heat)"}
BY = {
    "meter": "an energy meter",
    "current": "a current input",
    "second-sensor": "a second thermocouple",
    "tray-probe": "a tray probe",
    "mains-presence": "mains presence",
}


def in_words(report: dict[str, Any]) -> Iterator[str]:
    """Line by line."""
    yield headline(report)
    if report["cases"]:
        yield ""
        yield from _faults(report)
    if report["healthy"]["firings"]:
        yield ""
        yield from health_lines(report["healthy"])
    if report["undisturbed"]["firings"]:
        yield ""
        yield undisturbed_line(report["undisturbed"])
    yield ""
    yield "No watch can be counted on to notice, on this furnace:"
    for row in report["not_noticeable"]:
        yield f"  {row['title']}: {row['why'] or 'nothing shows it'}." + (
            f" Instead: {row['instead']}." if row["instead"] else ""
        )


def headline(report: dict[str, Any]) -> str:
    """What was drilled."""
    fitted = ", ".join(BY[name] for name in report["fitted"]) or "nothing optional"
    learned = f"learned from {report['learned_from_melts']} melts each" if report["learned"] else "nothing learned"
    count = report["furnaces"]
    furnaces = "one furnace" if count == 1 else f"{count} furnaces"
    return (
        f"{report['title']}, simulated: {furnaces} of its description, {learned}; fitted: {fitted}. "
        f"Seed {report['seed']}."
    )


def _faults(report: dict[str, Any]) -> Iterator[str]:
    yield "Simulated. Seconds, median / 90 % / worst; '-': never while it was watched. Metal: worst, over its target."
    heads = f"{'noticed':>19} {'relay low':>19} {'contactor open':>19}"
    yield f"{'fault':25} {'cases':>5} {'missed':>6} {heads} {'metal':>6}  first to speak"
    for name, row in report["faults"].items():
        missed = "" if row["missed"] is None else str(row["missed"])
        times = " ".join(f"{three(row[key]):>19}" for key in ("noticed_s", "relay_low_s", "contactor_open_s"))
        metal_k = row["metal_over_target_worst_k"]
        metal = "" if metal_k is None else f"{metal_k:+.0f} K"
        by = ", ".join(f"{watch} {count}" for watch, count in row["noticed_by"].items()) or "nobody"
        yield f"{name:25} {row['cases']:5} {missed:>6} {times} {metal:>6}  {by}{COUNTED[row['counted_from']]}"
    yield ""
    yield verdict(report)
    for case in report["misses"]:
        yield f"Missed: {_case(case)}"
    for case in report["wrong_first_causes"]:
        yield f"Wrong first cause: {_case(case)}"


def verdict(report: dict[str, Any]) -> str:
    """Misses, first causes and alarms in one sentence."""
    right = report["first_cause_right"]
    words = f"Missed {report['missed']} of {report['cases_detectable']} that a watch must notice."
    if right is not None:
        words += f" First to speak was right in {right:.1%}."
    words += f" At most {report['alarms_in_10_min_worst']} alarms in the ten minutes after one fault"
    return f"{words}; more than three in {report['cases_with_more_than_3_alarms']}."


def health_lines(healthy: dict[str, Any]) -> Iterator[str]:
    """False alarms, with bounds."""
    yield f"{healthy['firings']} healthy firings, {healthy['hours']:.1f} h, simulated:"
    for name, words in (("false_trips", "trips"), ("false_holds", "holds and stops"), ("false_any", "any alarm")):
        rate, bound = healthy[f"{name}_per_1000h"], healthy[f"{name}_per_1000h_bound"]
        yield f"  false {words}: {healthy[name]}; {rate:.2f} per 1000 h, below {bound:.2f} (95 %, one-sided)"
    clean = healthy["alarms_per_clean_melt_median"]
    if clean is not None:
        yield f"  alarms in a melt that came to its end, median: {clean:g}"
    share = healthy["suppressed_share"]
    if share is not None:
        yield f"  share of the heated time in which the reading is not held against the model: {share:.1%}"
    for alarm in healthy["alarms"]:
        done = " ".join(alarm["happenings"]) or "nobody did anything"
        yield (
            f"  {alarm['watch']}, minute {alarm['minute']}: {alarm['evidence']} (furnace {alarm['furnace_seed']}, "
            f"firing {alarm['firing_seed']}, {alarm['profile']}; {done})"
        )


def undisturbed_line(undisturbed: dict[str, Any]) -> str:
    """The firings that faults were put into copies of: healthy as well, but nobody does anything in them."""
    return (
        f"Beside them {undisturbed['hours']:.1f} h of the firings that faults were put into copies of: false alarms "
        f"{undisturbed['false_any']}, {undisturbed['false_trips']} of them trips. Nobody opens a lid in those."
    )


def three(spread: dict[str, float | None]) -> str:
    """Median / 90 % / worst."""
    return " / ".join("-" if value is None else f"{value:.3g}" for value in spread.values())


def _case(case: dict[str, Any]) -> str:
    at = "no reading" if case["reading_c"] is None else f"{case['reading_c']:.0f} °C"
    who = f"{case['first']} after {case['first_s']:.1f} s ({case['evidence']})" if case["first"] else "nobody spoke"
    return (
        f"{case['fault']}, {case['when']}, minute {case['minute']:.1f} of firing {case['firing_seed']} on furnace "
        f"{case['furnace_seed']}, {at}, duty {case['duty']:.2f}: {who}"
    )
