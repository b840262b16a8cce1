"""`python -m tests.campaigns.faults`: every fault of the simulated furnace, at random moments of a healthy firing.

Which watch speaks first, is it one that this fault should wake, and when are relay, element and contactor off? Times
are read from pins and contacts, from the moment of the fault. Each fault runs on in a copy of the process (fork), made
at its moment, so that one firing serves them all. Everything is simulated.
"""

import json
import os
import pickle
import traceback
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from random import Random
from typing import Any, NamedTuple

import click

from supervisor.firing.states import State
from supervisor.furnace.reckoning import nominal_duration_s
from supervisor.rehearsal.drill.counts import quantile
from tests.campaigns.draws import setting
from tests.campaigns.expected import EXPECTED
from tests.campaigns.trial import Said, Trial

LONGEST_S = 13 * 3600.0
WATCHED_ON_S = 30.0
"""So long after the alarm it is seen how relay, element and contactor go off."""
LINES = ("relay", "element", "contactor")


class Hit(NamedTuple):
    """One fault in one firing. Seconds count from the fault; None: never while it was watched."""

    fault: str
    seed: int
    furnace: str
    minute: float
    reading_c: float | None
    duty: float
    watch: str | None  # the first to speak
    found_s: float | None
    evidence: str
    right: bool  # it is one that this fault should wake, in time
    off_s: dict[str, float | None]


def run(seed: int, names: Sequence[str], *, short: bool = False) -> list[Hit]:
    """One firing; each of the named faults is put in once, at a moment of its own."""
    trial = Trial(setting(seed, happenings=False, short=short))
    dice = Random(seed)
    _until(trial, 0.0)
    began_s, hits = trial.time_s, []
    span_s = 0.95 * nominal_duration_s(trial.setting.profile)
    for at_s, name in sorted((began_s + dice.uniform(0.0, span_s), name) for name in names):
        _until(trial, at_s)
        if trial.state is State.RUNNING:
            hits.append(_in_a_copy(partial(_hit, trial, name)))
    trial.hardware.close()
    return hits


def _until(trial: Trial, at_s: float) -> None:
    """Go on to this time, and to running."""
    while not (trial.time_s >= at_s and trial.state is State.RUNNING) and not trial.over and trial.time_s < LONGEST_S:
        trial.turn()


def _in_a_copy(work: Callable[[], Hit]) -> Hit:
    """Do it in a fork of this process, which leaves the firing here as it is."""
    read, write = os.pipe()
    child = os.fork()
    if not child:
        status = 1
        try:
            with os.fdopen(write, "wb") as out:
                pickle.dump(work(), out)
            status = 0
        except BaseException:  # noqa: BLE001 - it is printed, and must not go on in the copy as if it were the parent
            traceback.print_exc()
        finally:
            os._exit(status)
    os.close(write)
    with os.fdopen(read, "rb") as came:
        answer = came.read()
    if os.waitpid(child, 0)[1]:
        raise RuntimeError("the copy of the process failed; what went wrong is printed above")
    hit: Hit = pickle.loads(answer)
    return hit


def _hit(trial: Trial, name: str) -> Hit:
    expected = EXPECTED[name]
    since_s, heard, reading_c, duty = (
        trial.time_s,
        len(trial.alarms),
        trial.memory.belief.last_c,
        trial.memory.firing.duty,
    )
    trial.furnace.inject(name)
    if expected.provoke is not None:
        trial.now_do(expected.provoke)
    found: Said | None = None
    while trial.time_s - since_s < expected.within_s and found is None:
        trial.turn()
        found = next((s for s in trial.alarms[heard:] if s.priority or s.watch in expected.watches), None)
    watched_until_s = trial.time_s + (WATCHED_ON_S if found else 0.0)
    while trial.time_s < watched_until_s:
        trial.turn()
    return Hit(
        name,
        trial.setting.seed,
        trial.setting.furnace.name,
        round(since_s / 60.0, 2),
        reading_c,
        round(duty, 3),
        found.watch if found else None,
        found.time_s - since_s if found else None,
        found.evidence if found else "",
        found is not None and found.watch in expected.watches,
        {line: trial.off_for_good_s(line, since_s) for line in LINES} if found else {},
    )


def runs(trials: int, seed: int, names: Sequence[str], workers: int, *, short: bool) -> Iterable[list[Hit]]:
    """So many firings, as they come."""
    one = partial(run, names=names, short=short)
    seeds = range(seed, seed + trials)
    if workers == 1:
        yield from map(one, seeds)
        return
    with ProcessPoolExecutor(workers) as pool:
        yield from pool.map(one, seeds)


def summary(hits: Sequence[Hit]) -> dict[str, Any]:
    """The figures, with stable names: a row for each fault."""
    rows = {}
    for name, expected in EXPECTED.items():
        of_it = [hit for hit in hits if hit.fault == name]
        if not of_it:
            continue
        row: dict[str, Any] = {
            "tried": len(of_it),
            "expected": sorted(expected.watches),
            "unnoticed": expected.unnoticed,
        }
        row["missed"] = sum(not hit.right for hit in of_it) if expected.watches else None
        row["found_by"] = {w: sum(hit.watch == w for hit in of_it) for w in sorted({h.watch for h in of_it if h.watch})}
        row["found_s"] = _spread([hit.found_s for hit in of_it])
        for line in LINES:
            row[f"{line}_off_s"] = _spread([hit.off_s[line] for hit in of_it if hit.off_s])
        rows[name] = row
    wanted = [hit for hit in hits if EXPECTED[hit.fault].watches]
    found = [hit for hit in wanted if hit.watch is not None]
    right = sum(hit.right for hit in found)
    return {
        "simulated": True,
        "hits": len(hits),
        "first_cause_right": round(right / len(found), 4) if found else None,
        "missed": sum(not hit.right for hit in wanted),
        "faults": rows,
    }


def _spread(seconds: Sequence[float | None]) -> dict[str, float | None]:
    """Median, 90 % and worst; None where it never came."""
    known = sorted(float("inf") if value is None else value for value in seconds)
    if not known:
        return {}
    spread = {"median": quantile(known, 0.5), "p90": quantile(known, 0.9), "worst": known[-1]}
    return {name: None if value == float("inf") else round(value, 2) for name, value in spread.items()}


@click.command()
@click.option(
    "--trials", type=click.IntRange(1), default=3, show_default=True, help="Firings; each takes every fault once."
)
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="Of the first; the next is 1 more.")
@click.option("--workers", type=click.IntRange(1, 64), default=1, show_default=True, help="Processes side by side.")
@click.option("--fault", "only", multiple=True, type=click.Choice(sorted(EXPECTED)), help="These alone.")
@click.option("--short", is_flag=True, help="Quick firings without metal, to try the campaign itself.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def main(trials: int, seed: int, workers: int, only: tuple[str, ...], short: bool, as_json: bool) -> None:
    """Break a simulated furnace in every known way, and see who notices."""
    hits: list[Hit] = []
    for of_one in runs(trials, seed, only or tuple(EXPECTED), workers, short=short):
        hits += of_one
    figures = summary(hits)
    if as_json:
        click.echo(json.dumps(figures, ensure_ascii=False))
        return
    for line in _lines(figures, hits):
        click.echo(line)


def _lines(figures: dict[str, Any], hits: Sequence[Hit]) -> Iterable[str]:
    yield "Seconds from the fault: median / 90 % / worst; '-': never while it was watched. Simulated."
    heads = " ".join(f"{head:>22}" for head in ("found", "relay low", "element off", "contactor open"))
    yield f"{'fault':24} {'missed':>8} {heads}  first to speak"
    for name, row in figures["faults"].items():
        missed = "" if row["missed"] is None else f"{row['missed']}/{row['tried']}"
        times = " ".join(f"{_three(row[key]):>22}" for key in ("found_s", *(f"{line}_off_s" for line in LINES)))
        by = ", ".join(f"{watch} {count}" for watch, count in row["found_by"].items())
        yield f"{name:24} {missed:>8} {times}  {by or 'nobody'}"
    yield ""
    for name, row in figures["faults"].items():
        if row["unnoticed"]:
            yield f"Not noticed by a watch: {name}: {row['unnoticed']}."
    for hit in hits:
        if EXPECTED[hit.fault].watches and not hit.right:
            at = "no reading" if hit.reading_c is None else f"{hit.reading_c:.0f} °C"
            who = f"{hit.watch}: {hit.evidence}" if hit.watch else "nobody spoke"
            where = f"seed {hit.seed} ({hit.furnace}), minute {hit.minute:.1f}, {at}, duty {hit.duty:.2f}"
            yield f"Missed: {hit.fault}, {where}: {who}"
    share = figures["first_cause_right"]
    yield f"\n{figures['hits']} faults put in; missed: {figures['missed']}; first to speak was right: {share}"


def _three(spread: dict[str, float | None]) -> str:
    return " / ".join("-" if value is None else f"{value:.4g}" for value in spread.values())


if __name__ == "__main__":
    main()
