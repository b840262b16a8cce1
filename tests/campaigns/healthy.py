"""`python -m tests.campaigns.healthy`: healthy firings, and every alarm in them is a false one.

Both shipped furnaces, every constant within 20 %, profiles with and without metal; people open lids, hold, add cold
metal and take their time to answer. Everything is simulated.
"""

import json
from collections import Counter
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from typing import Any, NamedTuple

import click

from supervisor.firing.states import State
from supervisor.rehearsal.drill.counts import per_1000_h, poisson_upper
from supervisor.watches import WATCHES
from supervisor.watches.finding import Then
from tests.campaigns.draws import setting
from tests.campaigns.trial import ENDED, Trial

LONGEST_S = 13 * 3600.0
HOLDS = frozenset(watch.id for watch in WATCHES if watch.reaction.then is Then.HOLD)


class Healthy(NamedTuple):
    """What one healthy firing came to. Nothing is wrong in it, so each alarm is false."""

    seed: int
    furnace: str
    profile: str
    hours: float
    ended: str
    why: str
    alarms: list[tuple[float, str, str]]  # minute, watch, evidence
    happenings: list[str]
    trips: int
    holds: int


def run(seed: int, *, short: bool = False) -> Healthy:
    """One firing from its seed."""
    drawn = setting(seed, short=short)
    trial = Trial(drawn)
    while not trial.over and trial.time_s < LONGEST_S and not (trial.state in ENDED and trial.time_s > 60.0):
        trial.turn()
    trial.hardware.close()
    return Healthy(
        seed,
        drawn.furnace.name,
        drawn.profile.name,
        trial.time_s / 3600.0,
        trial.state.value,
        trial.whys[-1] if trial.whys else "",
        [(round(said.time_s / 60.0, 1), said.watch, said.evidence) for said in trial.alarms if said.priority],
        [f"{happening.name}@{happening.after_s / 60.0:.0f}" for happening in drawn.happenings],
        int(trial.state in (State.ABORTING, State.ABORTED)),
        sum(said.watch in HOLDS for said in trial.alarms if said.priority),
    )


def runs(trials: int, seed: int, workers: int, *, short: bool) -> Iterable[Healthy]:
    """So many firings, as they come."""
    seeds = range(seed, seed + trials)
    if workers == 1:
        for number in seeds:
            yield run(number, short=short)
        return
    with ProcessPoolExecutor(workers) as pool:
        yield from pool.map(_short if short else run, seeds)


def _short(seed: int) -> Healthy:
    return run(seed, short=True)


def summary(found: list[Healthy]) -> dict[str, Any]:
    """The figures, with stable names."""
    hours = sum(firing.hours for firing in found)
    trips, holds = sum(f.trips for f in found), sum(f.holds for f in found)
    alarms = sum(len(firing.alarms) for firing in found)
    figures: dict[str, Any] = {"simulated": True, "trials": len(found), "hours": round(hours, 2)}
    for name, count in (("false_trips", trips), ("false_holds", holds), ("false_any", alarms)):
        figures[name] = count
        figures[f"{name}_per_1000h"] = round(1000 * count / hours, 2) if hours else None
        figures[f"{name}_per_1000h_bound"] = round(1000 * poisson_upper(count) / hours, 2) if hours else None
    figures["unfinished"] = [f.seed for f in found if f.ended != State.COMPLETE.value]
    figures["by_watch"] = dict(Counter(watch for firing in found for _, watch, _ in firing.alarms))
    return figures


@click.command()
@click.option("--trials", type=click.IntRange(1), default=10, show_default=True)
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="Of the first; the next is 1 more.")
@click.option("--workers", type=click.IntRange(1, 64), default=1, show_default=True, help="Processes side by side.")
@click.option("--short", is_flag=True, help="Quick firings without metal, to try the campaign itself.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def main(trials: int, seed: int, workers: int, short: bool, as_json: bool) -> None:
    """Fire healthy furnaces and count what was raised. Everything is simulated."""
    found = []
    for firing in runs(trials, seed, workers, short=short):
        found.append(firing)
        if not as_json:
            click.echo(_line(firing))
    figures = summary(found)
    if as_json:
        click.echo(json.dumps(figures, ensure_ascii=False))
        return
    click.echo(f"\n{figures['trials']} healthy firings, {figures['hours']:.1f} h, simulated:")
    for name in ("false_trips", "false_holds", "false_any"):
        click.echo(f"  {name.replace('_', ' '):12} {figures[name]:4}: {per_1000_h(figures[name], figures['hours'])}")
    for watch, count in figures["by_watch"].items():
        click.echo(f"    {watch}: {count}")
    if figures["unfinished"]:
        click.echo(f"  not complete: seeds {figures['unfinished']}")


def _line(firing: Healthy) -> str:
    words = f"{firing.seed:6} {firing.furnace:9} {firing.profile:18} {firing.hours:5.2f} h {firing.ended:9}"
    words += f" {' '.join(firing.happenings)}"
    for minute, watch, evidence in firing.alarms:
        words += f"\n         {minute:.1f} min: {watch}: {evidence}"
    if firing.ended != State.COMPLETE.value:
        words += f"\n         {firing.why}"
    return words


if __name__ == "__main__":
    main()
