"""`python -m tests.benchmarks [GROUP] [--json]`: one row per figure. It measures; it never judges a time."""

import json
import os
import shlex
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

import click

from supervisor.refusal import InputRefused
from tests.benchmarks import control, core, drill, logbook, units, web_figures
from tests.benchmarks.figure import Figure, keep, table


class Wish(NamedTuple):
    """What was asked for on the command line."""

    runs: int
    seeds: int
    first_seed: int | None
    plant: str
    workers: int
    cases: int
    hours: float
    melts: int
    rounds: int
    journal: Path | None
    share: float
    load_minutes: float
    only: tuple[str, ...]
    tell: Callable[[str], None]
    so_far: Callable[[list[Figure]], None]


GROUPS: dict[str, Callable[[Wish], list[Figure]]] = {
    "core": lambda wish: core.figures(runs=wish.runs),
    "logbook": lambda wish: logbook.figures(share=wish.share, tell=wish.tell),
    "units": lambda wish: units.figures(),
    "control": lambda wish: control.figures(
        seeds=wish.seeds,
        first_seed=control.FIRST_SEED if wish.first_seed is None else wish.first_seed,
        plant=wish.plant,
        workers=wish.workers,
        tell=wish.tell,
    ),
    "drill": lambda wish: drill.figures(
        drill.Ask(
            wish.cases,
            wish.hours,
            wish.melts,
            drill.FIRST_SEED if wish.first_seed is None else wish.first_seed,
            workers=wish.workers,
            rounds=wish.rounds,
            journal=wish.journal,
        ),
        tell=wish.tell,
        so_far=wish.so_far,
    ),
    "web": lambda wish: web_figures.figures(
        web_figures.Measure(wish.runs, wish.share, wish.load_minutes, wish.tell), wish.only
    ),
}


@click.command()
@click.argument("groups", nargs=-1, type=click.Choice(sorted(GROUPS)), metavar="[GROUP]...")
@click.option("--runs", type=click.IntRange(1, 50), default=3, show_default=True, help="Take the best of so many runs.")
@click.option("--seeds", type=click.IntRange(1, 1000), default=2, show_default=True, help="control: so many furnaces.")
@click.option(
    "--first-seed",
    type=click.IntRange(0),
    help=f"control, drill: of the first. [default: {control.FIRST_SEED}, {drill.FIRST_SEED}]",
)
@click.option(
    "--plant", metavar="MODULE:CLASS", default=control.BENCH, show_default=True, help="control: whose physics."
)
@click.option(
    "--workers", type=click.IntRange(1, 64), default=1, show_default=True, help="control, drill: processes at a time."
)
@click.option("--cases", type=click.IntRange(1), default=60, show_default=True, help="drill: faults put in.")
@click.option("--hours", type=click.FloatRange(0), default=5.0, show_default=True, help="drill: of healthy firing.")
@click.option("--learned", "melts", type=click.IntRange(0, 12), default=3, show_default=True, help="drill: from melts.")
@click.option(
    "--rounds", type=click.IntRange(1), default=1, show_default=True, help="drill: so often, each with other seeds."
)
@click.option(
    "--journal",
    type=click.Path(dir_okay=False, path_type=Path),
    help="drill: write each part to this file as it is done, and go on from what it holds.",
)
@click.option(
    "--share",
    type=click.FloatRange(0, 1, min_open=True),
    default=1.0,
    show_default=True,
    help="web: of 10 min of phones, an hour of firing, 40 taps. logbook: of 17 min of firing, 500 firings.",
)
@click.option(
    "--load-min",
    "load_minutes",
    type=click.FloatRange(0, 60, min_open=True),
    default=2.5,
    show_default=True,
    help="web: minutes of 200 requests a second, each with and without real-time priority.",
)
@click.option(
    "--only", multiple=True, type=click.Choice(sorted(web_figures.PARTS)), help="web: this part alone; may be repeated."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object: group to rows.")
@click.option("--keep", "kept", is_flag=True, help="Write docs/figures/GROUP.json; drill: after each part.")
def main(
    groups: tuple[str, ...],
    runs: int,
    seeds: int,
    first_seed: int | None,
    plant: str,
    workers: int,
    cases: int,
    hours: float,
    melts: int,
    rounds: int,
    journal: Path | None,
    share: float,
    load_minutes: float,
    only: tuple[str, ...],
    as_json: bool,
    kept: bool,
) -> None:
    """Measure the groups, or all of them."""
    command = f"python -m tests.benchmarks {shlex.join(sys.argv[1:])}".strip()
    found: dict[str, Any] = {}
    for group in groups or tuple(GROUPS):
        before = os.getloadavg()[0]
        name = _name(group, plant, melts)

        def write(figures: list[Figure], name: str = name, before: float = before) -> None:
            if kept:
                keep(name, command, figures, (before, os.getloadavg()[0]))

        wish = Wish(
            runs,
            seeds,
            first_seed,
            plant,
            workers,
            cases,
            hours,
            melts,
            rounds,
            journal,
            share,
            load_minutes,
            only,
            partial(click.echo, err=True),
            write,
        )
        try:
            figures = GROUPS[group](wish)
        except InputRefused as refused:
            raise click.UsageError(str(refused)) from refused
        found[group] = [figure.as_object() for figure in figures]
        if not as_json:
            click.echo(f"{group}\n{table(figures)}\n")
        write(figures)
        if kept:
            click.echo(f"Kept in docs/figures/{name}.json", err=True)
    if as_json:
        click.echo(json.dumps(found, ensure_ascii=False))


def _name(group: str, plant: str, melts: int) -> str:
    """Under which a run is kept: another plant and nothing learned have names of their own."""
    if group == "control" and plant != control.BENCH:
        return f"control-{_module(plant)}"
    return "drill-nothing-learned" if group == "drill" and not melts else group


def _module(plant: str) -> str:
    """`tests.plants.unseen:UnseenFurnace` to `unseen`."""
    return plant.partition(":")[0].rpartition(".")[2]


if __name__ == "__main__":  # processes of its own import it again
    main()
