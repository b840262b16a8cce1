"""`python -m tests.campaigns.tradeoff`: what a limit costs in false alarms, and what it buys in seconds.

The reading is held against what furnace and power explain. Healthy firings, and faults in copies of them, are followed
with the watches that go by it taken out of the table, so that what they would have seen goes on. Each statistic is then
held against limits from half to twice the worst that was healthy. Everything is simulated.
"""

import json
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Any, NamedTuple

import click

import supervisor.cycle
from supervisor.firing.states import HEATED
from supervisor.furnace.file import read_furnace
from supervisor.rehearsal.copied import in_a_copy
from supervisor.rehearsal.drill.cases import TARGETS, plan
from supervisor.rehearsal.drill.counts import poisson_upper, quantile
from supervisor.rehearsal.drill.draws import drilled, healthy
from supervisor.rehearsal.drill.firings import LONGEST_S, at_their_moments
from supervisor.rehearsal.drill.subject import Known, Subject, learn, subject
from supervisor.rehearsal.drill.trial import Trial
from supervisor.watches.row import Fitted
from supervisor.watches.view import Innovations

FIRST_SEED = 31
A_FURNACE = 4  # firings
APART_S = 60  # what is further apart is another false alarm
FOLLOWED_S = {"sensor_slips": 60, "lid_unseen": 120, "relay_stuck_off": 240, "sensor_drift_2": 900}
GONE = frozenset(
    {
        *("breaks-away", "colder-than-power", "lid-unseen", "needs-more-power", "heat-without-rise", "no-power"),
        *("meter-disagrees", "mains-low", "rate-impossible"),
    }
)
SHARES = (0.5, 0.75, 1.0, 1.25, 1.5, 2.0)

STATISTICS: dict[str, Callable[[Innovations], float | None]] = {
    "mean over 10 s": lambda of: of.mean_10_k,
    "mean over 30 s": lambda of: of.mean_30_k,
    "mean over 120 s": lambda of: of.mean_120_k,
    "mean over 300 s": lambda of: of.mean_300_k,
    "mean over 600 s": lambda of: of.mean_600_k,
    "that, and lower than ten minutes ago": lambda of: of.sunk_k,
    "sudden: 2 s against those before": lambda of: of.breaks_k,
}
"""Downwards: the lower, the more is wrong."""

Course = list[Innovations | None]
"""Second by second; None: nothing is reckoned, or heat is not allowed."""


class Followed(NamedTuple):
    """One fault, from its moment on."""

    label: str
    when: str
    course: Course


class Row(NamedTuple):
    """One statistic at one limit. seconds: to the limit, of the cases that came to it."""

    statistic: str
    limit_k: float
    false: int
    hours: float
    seconds: dict[str, list[float]]
    cases: dict[str, int]

    def as_object(self) -> dict[str, Any]:
        """For a report."""
        return {
            "statistic": self.statistic,
            "limit_k": round(self.limit_k, 2),
            "false": self.false,
            "hours": round(self.hours, 1),
            "false_per_1000h_bound": round(1000.0 * poisson_upper(self.false) / self.hours, 1),
            "faults": {
                label: {
                    "cases": count,
                    "found": len(self.seconds[label]),
                    "median_s": quantile(self.seconds[label], 0.5) if self.seconds[label] else None,
                    "worst_s": max(self.seconds[label], default=None),
                }
                for label, count in self.cases.items()
            },
        }


def _second(trial: Trial) -> Innovations | None:
    """Go on by one second; what is reckoned then."""
    trial.turn()
    while trial.memory.cycles % 4:
        trial.turn()
    return trial.memory.innovations if trial.state in HEATED else None


def _after(trial: Trial, label: str) -> list[Any]:
    """In a copy of the process: the fault, and nobody to end the heat for it."""
    for table in (supervisor.cycle.ASKED, supervisor.cycle.ASKED_BETWEEN):
        for state, watches in table.items():
            table[state] = tuple(watch for watch in watches if watch.id not in GONE)
    injected = TARGETS[label].injected
    trial.furnace.inject(injected.name, injected.value)
    return [_second(trial) for _ in range(FOLLOWED_S[label])]


def faults(of: Subject, furnace_seed: int, seed: int, known: Known, each: int) -> Iterator[Followed]:
    """Each fault so often in one melt."""
    trial = Trial(drilled(of, furnace_seed, seed, known))
    for case in at_their_moments(trial, plan(FOLLOWED_S, each, seed)):
        course: Course = in_a_copy(partial(_after, trial, case.label))
        yield Followed(case.label, case.when, course)


def health(of: Subject, furnace_seed: int, seed: int, known: Known) -> Course:
    """A healthy firing to its end, with all watches."""
    trial, course = Trial(healthy(of, furnace_seed, seed, known)), Course()
    while not trial.over and trial.time_s < LONGEST_S and (trial.state in HEATED or not course or trial.time_s < 300.0):
        course.append(_second(trial))
    trial.hardware.close()
    return course


def rows(courses: Sequence[Course], followed: Sequence[Followed]) -> Iterator[Row]:
    """Every statistic against limits about the worst that was healthy."""
    hours = sum(len(course) for course in courses) / 3600.0
    for name, statistic in STATISTICS.items():
        values = [_values(statistic, course) for course in courses]
        worst_k = -min((value for one in values for value in one if value is not None), default=-1.0)
        for share in SHARES:
            limit_k = share * worst_k
            seconds: dict[str, list[float]] = {label: [] for label in FOLLOWED_S}
            for one in followed:
                passed = _passed(_values(statistic, one.course), limit_k)
                seconds[one.label] += passed[:1]
            count = {label: sum(one.label == label for one in followed) for label in FOLLOWED_S}
            false = sum(len(_passed(one, limit_k)) for one in values)
            yield Row(name, limit_k, false, hours, seconds, count)


def _values(statistic: Callable[[Innovations], float | None], course: Course) -> list[float | None]:
    return [None if one is None else statistic(one) for one in course]


def _passed(values: Sequence[float | None], limit_k: float) -> list[float]:
    """The seconds in which it came below the limit, each that is apart from the one before."""
    found: list[float] = []
    last = -APART_S
    for at, value in enumerate(values, start=1):
        if value is not None and value < -limit_k:
            if at - last >= APART_S:
                found.append(float(at))
            last = at
    return found


@click.command()
@click.option("--furnace", default="bench", show_default=True)
@click.option("--plant", metavar="MODULE:CLASS")
@click.option("--fitted", multiple=True, type=click.Choice(("meter", "current")), help="Nothing else is.")
@click.option("--firings", type=click.IntRange(1), default=8, show_default=True, help="Half healthy, half with faults.")
@click.option("--each", type=click.IntRange(1), default=5, show_default=True, help="Of each fault in a firing.")
@click.option("--seed", type=click.IntRange(0), default=FIRST_SEED, show_default=True)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def main(
    furnace: str, plant: str | None, fitted: tuple[Fitted, ...], firings: int, each: int, seed: int, as_json: bool
) -> None:
    """See what moving a limit would cost and buy."""
    of = subject(read_furnace(furnace), plant, fitted, 3)
    courses, followed = [], list[Followed]()
    known: Known | None = None
    for number in range(firings):
        furnace_seed = 1000 * seed + number // A_FURNACE
        if known is None or number % A_FURNACE == 0:
            known = learn(of, furnace_seed)
        if number % 2:
            followed += faults(of, furnace_seed, 10 * seed + number, known, each)
        else:
            courses.append(health(of, furnace_seed, 10 * seed + number, known))
    found = [row.as_object() for row in rows(courses, followed)]
    if as_json:
        click.echo(json.dumps({"simulated": True, "rows": found}))
        return
    for row in found:
        told = ", ".join(
            f"{label} {of_it['found']}/{of_it['cases']} {of_it['median_s']}/{of_it['worst_s']} s"
            for label, of_it in row["faults"].items()
        )
        click.echo(
            f"{row['statistic']:37} limit {row['limit_k']:5.2f} K: false {row['false']} in {row['hours']} h "
            f"(below {row['false_per_1000h_bound']} per 1000 h, 95 %); found, median / worst: {told}"
        )


if __name__ == "__main__":
    main()
