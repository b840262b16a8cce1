"""docs/drill.md: the kept runs of the group `drill` against their goals, and every fault."""

import json
from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple

from supervisor.rehearsal.drill.cases import TARGETS
from tests.benchmarks.figure import KEPT_IN

KEPT = {"learned from three melts": "drill.json", "nothing learned": "drill-nothing-learned.json"}

HEAD = """\
# Drill figures

What `meltkeeper drill` finds on simulated furnaces of three makes, each furnace within 20 % of its description: the two
that ship, and one of another structure on which nothing was calibrated. What is measured and how stands in
[faults.md](faults.md). Seconds are read from pins and contacts, on each row's own clock. Everything is simulated.

This page is written from `docs/figures/drill.json` and `docs/figures/drill-nothing-learned.json` by
`python -m tests.pages`; a test compares them.
"""

Rows = Mapping[str, dict[str, Any]]

FLAGGED = (
    *("sensor_open", "sensor_short_to_ground", "sensor_short_to_supply", "bus_stuck_low", "bus_all_ones", "bus_silent"),
    *("bus_error", "bus_half_frame"),
)
SLIPS = ("sensor_slips", "sensor_slip")
DRIFTS = ("sensor_drift_2", "sensor_drift_5", "sensor_creeps_at_hold")
DARK = ("relay_stuck_off", "element_broken", "supply_of_load_lost")


FITTED = {
    "": "",
    "_without_meter": ", no meter",
    "_with_current": ", current input alone",
    "_with_current_and_meter": ", meter and current input",
}


class Goal(NamedTuple):
    """One line of the table. most: the goal; the value is the worst of these rows."""

    words: str
    names: tuple[str, ...]
    most: float
    digits: int = 1
    at_least: bool = False


def _names(labels: tuple[str, ...], end: str) -> tuple[str, ...]:
    return tuple(f"{label}_{end}" for label in labels)


def _dark(fitted: str, end: str) -> tuple[str, ...]:
    return tuple(f"{label}_{fitted}_contactor_open_{end}_s" for label in DARK)


ON = "relay_stuck_on"
GOALS = (
    Goal("sensor faults flagged or framed: relay low, worst, s", _names(FLAGGED, "relay_low_worst_s"), 0.3, 2),
    Goal("the same: contactor open, worst, s", _names(FLAGGED, "contactor_open_worst_s"), 1.4, 2),
    Goal("reading frozen: relay low, worst, s", ("sensor_frozen_relay_low_worst_s",), 60.0),
    Goal("fast slip: relay low, worst, s", _names(SLIPS, "relay_low_worst_s"), 5.0),
    Goal("the same, from 550 °C", _names(SLIPS, "relay_low_from_550_c_worst_s"), 5.0),
    Goal("relay stuck on, no meter: contactor, median, s", (f"{ON}_without_meter_contactor_open_median_s",), 30.0),
    Goal("the same, 90 %, s", (f"{ON}_without_meter_contactor_open_p90_s",), 60.0),
    Goal("the same: rise of the reading, worst, K", (f"{ON}_without_meter_reading_rise_worst_k",), 50.0),
    Goal("with a current input, worst, s", (f"{ON}_with_current_contactor_open_worst_s",), 1.5, 2),
    Goal("the same, from the relay first told off, worst, s", (f"{ON}_with_current_off_told_worst_s",), 1.5, 2),
    Goal("with the meter, median, s", (f"{ON}_contactor_open_median_s",), 3.0, 2),
    Goal("with the meter, worst, s", (f"{ON}_contactor_open_worst_s",), 4.0, 2),
    Goal("with the meter, from the relay first told off, median, s", (f"{ON}_off_told_median_s",), 3.0, 2),
    Goal("with the meter, from the relay first told off, worst, s", (f"{ON}_off_told_worst_s",), 4.0, 2),
    Goal("no heat, no meter: contactor, median, s", _dark("without_meter", "median"), 45.0),
    Goal("the same, 90 %, s", _dark("without_meter", "p90"), 90.0),
    Goal("no heat, with a current input: worst, s", _dark("with_current", "worst"), 5.0),
    Goal("no heat, with meter and current input: worst, s", _dark("with_current_and_meter", "worst"), 5.0),
    Goal("lid open unseen: relay low, worst, s", ("lid_unseen_relay_low_worst_s",), 30.0),
    Goal("the same, from 550 °C", ("lid_unseen_relay_low_from_550_c_worst_s",), 30.0),
    Goal("slow slip or drift at a hold: noticed, median, s", _names(DRIFTS, "noticed_median_s"), 420.0),
    Goal("the same: metal over its target, worst, K", _names(DRIFTS, "metal_over_target_worst_k"), 15.0),
    Goal(
        "the same, what it was over before the fault left out, K", _names(DRIFTS, "metal_over_by_fault_worst_k"), 15.0
    ),
    Goal("the same, median, K", _names(DRIFTS, "metal_over_by_fault_median_k"), 15.0),
    Goal("missed, of those that must be noticed", ("missed",), 0.0, 0),
    Goal("first to speak is right, share", ("first_cause_right",), 0.95, 3, at_least=True),
    Goal("alarms in the ten minutes after one fault, worst", ("alarms_in_10_min_worst",), 3.0, 0),
    Goal("false trips in 1000 healthy hours", ("false_trips_per_1000h",), 1.0),
    Goal("false holds and stops", ("false_holds_per_1000h",), 3.0),
    Goal("any false alarm or advice", ("false_any_per_1000h",), 10.0),
    Goal("alarms in a clean melt, median", ("alarms_per_clean_melt_median",), 0.0, 0),
)


def page() -> str:
    """The text of docs/drill.md."""
    runs = {
        name: json.loads((KEPT_IN / file).read_text(encoding="utf-8"))
        for name, file in KEPT.items()
        if (KEPT_IN / file).exists()
    }
    found = {name: {row["name"]: row for row in run["rows"]} for name, run in runs.items()}
    parts = [HEAD]
    for name, run in runs.items():
        rows = found[name]
        count = {key: f"{rows[key]['value']:.0f}" for key in ("cases", "cases_detectable", "hours", "furnaces")}
        done = _parts(rows.get("parts_done"))
        machine = run["machine"]
        parts.append(
            f"With {name}: `{run['command']}`, {run['date']}, {machine['board']}, {machine['cores']} cores, "
            f"{machine['python']}; {count['cases']} faults, of which {count['cases_detectable']} must be noticed, "
            f"{count['hours']} healthy hours, {count['furnaces']} furnaces.{done} {run.get('note', '')}".rstrip()
            + "\n"
        )
    parts.append("## Against the goals\n")
    parts.append(_table(("figure", "goal", *found), [_goal(goal, found) for goal in GOALS]))
    parts.append("\nFalse alarms, with their one-sided 95 % bound:\n")
    parts.append("\n".join(_false(found)))
    for name, rows in found.items():
        parts.append(f"\n## Every fault, {name}\n")
        parts.append("Seconds: median / 90 % / worst; a dash: some were never seen to.\n")
        parts.append(_table(("fault", "missed", "relay low", "contactor open", "first to speak"), _faults(rows)))
    return "\n".join(parts) + "\n"


def _parts(row: dict[str, Any] | None) -> str:
    """Nothing, unless the run was cut."""
    if row is None or row["value"] >= row["baseline"]:
        return ""
    return f" The run was cut: {row['value']:.0f} of {row['baseline']:.0f} parts are in it."


def _goal(goal: Goal, found: Mapping[str, Rows]) -> tuple[str, ...]:
    limit = f"{'>=' if goal.at_least else '<='} {goal.most:g}"
    return (goal.words, limit, *(_value(goal, rows) for rows in found.values()))


def _value(goal: Goal, rows: Rows) -> str:
    if all(name not in rows for name in goal.names):
        return "not measured, or never in some"
    if any(name not in rows for name in goal.names):
        return "never in some"
    values = [rows[name]["value"] for name in goal.names]
    value = min(values) if goal.at_least else max(values)
    met = value >= goal.most if goal.at_least else value <= goal.most
    words = f"{value:.{goal.digits}f}"
    return words if met else f"**{words}**"


def _false(found: Mapping[str, Rows]) -> Iterator[str]:
    for name, rows in found.items():
        if "false_any_per_1000h" not in rows:
            yield f"- {name}: not measured."
            continue
        told = "; ".join(
            f"{words} {rows[f'{key}_per_1000h']['value']:.1f} ({rows[f'{key}_per_1000h']['note']})"
            for key, words in (("false_trips", "trips"), ("false_holds", "holds and stops"), ("false_any", "any"))
        )
        share = rows["suppressed_share"]["value"] if "suppressed_share" in rows else 0.0
        yield f"- {name}: {told}. For {share:.1%} of the heated time the reading is not held against the model."


def _faults(rows: Rows) -> Iterator[tuple[str, ...]]:
    for label in TARGETS:
        for suffix, words in FITTED.items():
            name = label + suffix
            missed, noticed = rows.get(f"{name}_missed"), rows.get(f"{name}_noticed")
            row = missed or noticed
            if row is None:
                continue
            told = f"{row['value']:.0f}" if missed else f"noticed {row['value']:.0%}"
            by = row["note"].rpartition(": ")[2]
            yield (
                f"`{label}`{words}",
                f"{told} {row['note'].partition(',')[0]}",
                _three(rows, f"{name}_relay_low"),
                _three(rows, f"{name}_contactor_open"),
                by,
            )


def _three(rows: Rows, name: str) -> str:
    values = [rows.get(f"{name}_{key}_s") for key in ("median", "p90", "worst")]
    return " / ".join("-" if row is None else f"{row['value']:.3g}" for row in values)


def _table(heads: tuple[str, ...], rows: Any) -> str:
    line: Callable[[tuple[str, ...]], str] = lambda cells: f"| {' | '.join(cells)} |"  # noqa: E731
    return "\n".join([line(heads), line(tuple("---" for _ in heads)), *(line(row) for row in rows)])
