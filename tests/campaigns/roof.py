"""How often a charge that hangs up is told, and how hot it is by then: `python -m tests.campaigns.roof --firings 12`.

A solid roof over melting metal, put in when melting begins. Everything is simulated.
"""

import json
from random import Random
from typing import NamedTuple

import click

from supervisor.furnace.file import read_furnace
from supervisor.rehearsal.drill.draws import drilled
from supervisor.rehearsal.drill.firings import LONGEST_S
from supervisor.rehearsal.drill.subject import Known, Subject, learn, subject
from supervisor.rehearsal.drill.trial import Trial
from supervisor.watches.finding import Then

PLANT = "tests.plants.roof:RoofableBench"
WATCHED_S = 5400.0
FIRST_SEED = 6100
A_FURNACE = 4  # firings


class Roof(NamedTuple):
    """One melt that hangs up. Temperatures are those of when it was told; None: nobody told."""

    seed: int
    hung_up: float  # share of the upward coupling that is gone
    told_after_s: float | None
    reading_c: float | None
    metal_hottest_c: float | None
    metal_hottest_in_all_c: float
    first: str | None
    heat_ended: bool


def hang_up(of: Subject, furnace_seed: int, seed: int, known: Known) -> Roof | None:
    """One melt with a roof; None: nothing melted in it."""
    trial = Trial(drilled(of, furnace_seed, seed, known))
    share = Random(f"{seed} roof").uniform(0.6, 1.0)
    while trial.moment != "arrest":
        trial.turn()
        if trial.time_s > LONGEST_S or trial.over:
            return None
    trial.furnace.plant.disturb("hung_up", share)
    began_s, heard = trial.time_s, len(trial.alarms)
    told: tuple[float, float | None, float] | None = None
    while trial.time_s - began_s < WATCHED_S and not trial.over:
        trial.turn()
        if told is None and any(said.watch == "metal-missing" for said in trial.alarms[heard:]):
            told = trial.time_s - began_s, trial.memory.belief.last_c, trial.furnace.state.metal_hottest_c
    spoke = [said for said in trial.alarms[heard:] if said.priority]
    after_s, reading_c, hottest_c = told or (None, None, None)
    ended = any(said.reaction.then >= Then.STOP for said in spoke)
    first = spoke[0].watch if spoke else None
    return Roof(seed, round(share, 2), after_s, reading_c, hottest_c, trial.seen.metal_c, first, ended)


@click.command()
@click.option("--firings", type=click.IntRange(1), default=12, show_default=True)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def main(firings: int, as_json: bool) -> None:
    """Let charges hang up on furnaces that were learned from three melts."""
    of = subject(read_furnace("bench"), PLANT, None, 3)
    found: list[Roof] = []
    known: Known | None = None
    for number in range(firings):
        furnace_seed = FIRST_SEED + number // A_FURNACE
        if known is None or number % A_FURNACE == 0:
            known = learn(of, furnace_seed)
        roof = hang_up(of, furnace_seed, 10 * FIRST_SEED + number, known)
        if roof is not None:
            found.append(roof)
            if not as_json:
                click.echo(" ".join(f"{name} {value}" for name, value in roof._asdict().items()))
    told = [roof for roof in found if roof.told_after_s is not None]
    cool = [roof for roof in told if (roof.reading_c or 0.0) < 720.0]
    if as_json:
        click.echo(json.dumps({"simulated": True, "roofs": [roof._asdict() for roof in found]}))
        return
    click.echo(f"told {len(told)} of {len(found)}, {len(cool)} of them before the reading was at 720 °C (simulated)")


if __name__ == "__main__":
    main()
