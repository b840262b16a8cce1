"""Group `drill`: how soon faults are noticed and how often health is taken for one, on furnaces of three makes.

The engine is that of `meltkeeper drill`. Two makes ship; on the third, of another structure, nothing was ever
calibrated. What depends on what is fitted is put in again without a meter and with a current input. Everything is
simulated.
"""

from collections.abc import Callable, Iterator, Sequence
from math import ceil
from typing import Any, NamedTuple

from supervisor.furnace.file import read_furnace
from supervisor.rehearsal.drill.campaign import Drilled, Wish, drill
from supervisor.rehearsal.drill.cases import TARGETS
from supervisor.rehearsal.drill.figures import figures as report_of
from supervisor.rehearsal.drill.subject import subject
from supervisor.watches.row import Fitted
from tests.benchmarks.figure import Figure

UNSEEN = "tests.plants.unseen:UnseenFurnace"
UNSEEN_FILE = "tests/plants/unseen.toml"
HEAT = (
    "relay_stuck_on",
    "relay_half_wave",
    "relay_stuck_off",
    "element_broken",
    "supply_of_load_lost",
    "relay_half_power",
)
CURRENT = ("current_input_stuck_on", "current_input_stuck_off")
OTHERS = ("second_sensor_open", "second_sensor_slip", "metal_escapes")


class Part(NamedTuple):
    """One drill of several. suffix: of its figures' names; cases, hours: shares of what is asked for."""

    suffix: str
    furnace: str
    plant: str | None
    fitted: tuple[Fitted, ...] | None
    faults: tuple[str, ...]
    cases: float
    hours: float


PARTS = (
    Part("", "bench", None, None, (), 0.4, 0.5),
    Part("", "workshop", None, None, (), 0.1, 0.2),
    Part("", UNSEEN_FILE, UNSEEN, None, (), 0.3, 0.3),
    Part("_without_meter", "bench", None, (), HEAT, 0.08, 0.0),
    Part("_with_current_and_meter", "bench", None, ("current", "meter"), HEAT + CURRENT, 0.08, 0.0),
    Part("", "bench", None, ("meter", "second-sensor", "tray-probe"), OTHERS, 0.04, 0.0),
    Part("_with_current", "bench", None, ("current",), HEAT + CURRENT, 0.08, 0.0),
)
"""Figures with one suffix are pooled."""

LINES = ("relay_low", "contactor_open")
FIRST_SEED = 41
"""Of the kept run. Limits are chosen on drills of lower seeds."""


def figures(
    *,
    cases: int,
    hours: float,
    melts: int,
    seed: int = FIRST_SEED,
    workers: int = 1,
    parts: Sequence[Part] = PARTS,
    quick: bool = False,
    tell: Callable[[str], None] | None = None,
) -> list[Figure]:
    """Drill every part: so many cases and hours in all, learned from so many melts. quick: short healthy firings."""
    pooled: dict[str, Drilled] = {}
    for number, part in enumerate(parts):
        wish = wished(part, number, cases=cases, hours=hours, melts=melts, seed=seed, workers=workers, quick=quick)
        found = drill(wish, lambda *_: None)
        if tell is not None:
            tell(f"{part.furnace}{part.suffix}: {len(found.hits)} cases, {sum(f.hours for f in found.healthy):.0f} h")
        pool(pooled, part, found)
    return rows_of(pooled)


def wished(
    part: Part,
    number: int,
    *,
    cases: int,
    hours: float,
    melts: int,
    seed: int = FIRST_SEED,
    workers: int = 1,
    quick: bool = False,
) -> Wish:
    """What is drilled of this part, the number-th of all."""
    of = subject(read_furnace(part.furnace), part.plant, part.fitted, melts)
    return Wish(of, ceil(part.cases * cases), part.hours * hours, seed + number, part.faults, workers, quick)


def pool(pooled: dict[str, Drilled], part: Part, found: Drilled) -> None:
    """Put it to what was found under the same suffix."""
    into = pooled.setdefault(part.suffix, found)
    if into is not found:
        into.hits += found.hits
        into.healthy += found.healthy
        into.furnaces += found.furnaces


def rows_of(pooled: dict[str, Drilled]) -> list[Figure]:
    """The figures of everything that was found, by suffix."""
    reports = {suffix: report_of(found) for suffix, found in pooled.items()}
    rows = [*_whole(list(reports.values())), *_health(reports[""]["healthy"])]
    for suffix, report in reports.items():
        for label, fault in report["faults"].items():
            rows += _fault(label + suffix, fault)
    return rows


def _whole(reports: Sequence[dict[str, Any]]) -> Iterator[Figure]:
    sure = sum(report["cases_detectable"] for report in reports)
    right = sum((report["first_cause_right"] or 0.0) * report["cases_detectable"] for report in reports) / max(1, sure)
    yield Figure("cases_detectable", sure, "", None, "faults put in that a watch must notice")
    yield Figure("cases", sum(report["cases"] for report in reports), "", None, "with those that it need not")
    yield Figure("missed", sum(report["missed"] for report in reports), "", None, "goal 0")
    yield Figure("first_cause_right", right, "", None, "goal >= 0.95; of those in which a watch spoke")
    worst = max(report["alarms_in_10_min_worst"] for report in reports)
    many = sum(report["cases_with_more_than_3_alarms"] for report in reports)
    yield Figure("alarms_in_10_min_worst", worst, "", None, f"goal <= 3; more in {many} cases")
    yield Figure("furnaces", sum(report["furnaces"] for report in reports), "", None, "each within 20 % of its make")


def _health(healthy: dict[str, Any]) -> Iterator[Figure]:
    yield Figure("hours", healthy["hours"], "h", None, f"{healthy['firings']} healthy firings")
    if not healthy["firings"]:
        return
    for name, goal in (("false_trips", 1), ("false_holds", 3), ("false_any", 10)):
        note = f"goal <= {goal}; counted {healthy[name]}, below {healthy[f'{name}_per_1000h_bound']} (95 %, one-sided)"
        yield Figure(f"{name}_per_1000h", healthy[f"{name}_per_1000h"] or 0.0, "1/1000h", None, note)
    clean = healthy["alarms_per_clean_melt_median"]
    if clean is not None:
        yield Figure("alarms_per_clean_melt_median", clean, "", None, "goal 0")
    share = healthy["suppressed_share"]
    if share is not None:
        yield Figure(
            "suppressed_share", share, "", None, "of the heated time: the reading is not held against the model"
        )
    yield Figure("unfinished", healthy["unfinished"], "", None, "healthy firings that did not come to their end")


def _fault(name: str, fault: dict[str, Any]) -> Iterator[Figure]:
    """Seconds on the row's own clock; a figure that never came is left out, and the note of the misses says so."""
    counted = {"fault": "from the fault", "low duty": "from less than 0.7 of full power ordered"}
    since = counted.get(fault["counted_from"], "from the first heat")
    for line in LINES:
        for key in ("median", "p90", "worst"):
            value = fault[f"{line}_s"][key]
            if value is not None:
                yield Figure(f"{name}_{line}_{key}_s", value, "s", None, since)
    by = ", ".join(f"{watch} {count}" for watch, count in fault["noticed_by"].items()) or "nobody"
    share = 1.0 - (fault["not_noticed_share"] or 0.0)
    if fault["detectable"]:
        note = f"of {fault['cases']}, limit {fault['limit_s']:g} s; first to speak: {by}"
        yield Figure(f"{name}_missed", fault["missed"], "", None, note)
    else:
        yield Figure(f"{name}_noticed", share, "", None, f"of {fault['cases']}, not to be counted on; first: {by}")
    if TARGETS_AT_HOLD.get(fault["row"]):
        for key, value in fault["noticed_s"].items():
            if value is not None:
                yield Figure(f"{name}_noticed_{key}_s", value, "s", None, since)
    metal_k, rise_k = fault["metal_over_target_worst_k"], fault["reading_rise_k"]["worst"]
    if TARGETS_AT_HOLD.get(fault["row"]) and metal_k is not None:
        yield Figure(f"{name}_metal_over_target_worst_k", metal_k, "K", None, "the plant's truth")
    if fault["counted_from"] == "low duty":
        for key, value in fault["contactor_open_from_relay_off_s"].items():
            if value is not None:
                yield Figure(f"{name}_off_told_{key}_s", value, "s", None, "contactor, from the relay first told off")
    if fault["counted_from"] == "low duty" and rise_k is not None:
        yield Figure(f"{name}_reading_rise_worst_k", rise_k, "K", None, f"until it is noticed, {since}")


TARGETS_AT_HOLD = {target.row_name: target.row.when == ("hold",) for target in TARGETS.values()}
