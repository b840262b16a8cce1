"""`python -m tests.circuits`: both permit circuits in ngspice: cases, then builds with every part off by chance.

Simulated, never built. Each build is run with the supervisor's late toggling and then with the pin stuck.
"""

import json
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import click

from tests.circuits.cases import CASES
from tests.circuits.permit import ARMATURE_S, CIRCUITS, Came, Pattern, drawn, late, run

TOGGLED_S, SEEN_ON_S = 9.0, 3.5


def one(circuit: str, seed: int, share: float | None = None) -> Came:
    """One build, toggled late by chance, then stuck high. share: every R and C so far off; None: film and 1 %."""
    edges_s = late(TOGGLED_S, seed)
    spread = {} if share is None else {"film": share, "resistor": share}
    return run(circuit, Pattern(edges_s, edges_s[-1] + SEEN_ON_S), drawn(circuit, seed, **spread))


def summary(found: list[Came]) -> dict[str, Any]:
    """The figures of so many builds."""
    opened = sorted(came.poles_open_s + ARMATURE_S for came in found if came.poles_open_s is not None)
    return {
        "builds": len(found),
        "held": sum(came.held for came in found),
        "opened": len(opened),
        "open_min_s": round(opened[0], 3),
        "open_mean_s": round(sum(opened) / len(opened), 3),
        "open_max_s": round(opened[-1], 3),
    }


@click.command()
@click.option("--runs", type=click.IntRange(1), default=10, show_default=True, help="Builds of each circuit and set.")
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True)
@click.option("--workers", type=click.IntRange(1, 64), default=2, show_default=True)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def main(runs: int, seed: int, workers: int, as_json: bool) -> None:
    """Run both permit circuits in ngspice: what holds them in, and how soon they let go."""
    figures: dict[str, Any] = {"simulated": True}
    seeds = range(seed, seed + runs)
    with ThreadPoolExecutor(workers) as pool:
        for circuit in CIRCUITS:
            came = dict(zip(CASES, pool.map(lambda case, of=circuit: case.run(of), CASES.values()), strict=True))
            figures[circuit] = {
                "cases": {name: _row(found) for name, found in came.items()},
                "film 10 %, resistors 1 %": summary(list(pool.map(lambda n, of=circuit: one(of, n), seeds))),
                "every R and C 20 %": summary(list(pool.map(lambda n, of=circuit: one(of, n, 0.2), seeds))),
            }
    if as_json:
        click.echo(json.dumps(figures, ensure_ascii=False))
        return
    for circuit in CIRCUITS:
        click.echo(f"\n{circuit}, simulated: closed after, held, poles open after the last rising edge")
        for name, row in figures[circuit]["cases"].items():
            click.echo(f"  {name:46} {row['closed_s']!s:>8} {row['held']!s:>6} {row['poles_open_s']!s:>8}")
        for name in ("film 10 %, resistors 1 %", "every R and C 20 %"):
            row = figures[circuit][name]
            spread = f"{row['open_min_s']} / {row['open_mean_s']} / {row['open_max_s']} s"
            click.echo(f"  {name}: held {row['held']} of {row['builds']}, open after {spread} (min, mean, worst)")


def _row(came: Came) -> dict[str, Any]:
    opened = came.poles_open_s
    return {
        "closed_s": None if came.closed_s is None else round(came.closed_s, 3),
        "held": came.held,
        "poles_open_s": None if opened is None or came.closed_s is None else round(opened, 3),
    }


if __name__ == "__main__":
    main()
