"""`python -m tests.benchmarks [GROUP] [--json]`: one row per figure. It measures; it never judges a time."""

import json
import os
import shlex
import sys
from typing import Any

import click

from tests.benchmarks import core, logbook
from tests.benchmarks.figure import keep, table

GROUPS: dict[str, Any] = {"core": core.figures, "logbook": logbook.figures}


@click.command()
@click.argument("groups", nargs=-1, type=click.Choice(sorted(GROUPS)), metavar="[GROUP]...")
@click.option("--runs", type=click.IntRange(1, 50), default=3, show_default=True, help="Take the best of so many runs.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object: group to rows.")
@click.option("--keep", "kept", is_flag=True, help="Write docs/figures/GROUP.json.")
def main(groups: tuple[str, ...], runs: int, as_json: bool, kept: bool) -> None:
    """Measure the groups, or all of them."""
    command = f"python -m tests.benchmarks {shlex.join(sys.argv[1:])}".strip()
    found: dict[str, Any] = {}
    for group in groups or tuple(GROUPS):
        before = os.getloadavg()[0]
        figures = GROUPS[group](runs=runs)
        found[group] = [figure.as_object() for figure in figures]
        if not as_json:
            click.echo(f"{group}\n{table(figures)}\n")
        if kept:
            click.echo(f"Kept in {keep(group, command, figures, (before, os.getloadavg()[0]))}", err=True)
    if as_json:
        click.echo(json.dumps(found, ensure_ascii=False))


main()
