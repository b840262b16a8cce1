"""`python -m tests.campaigns.constants`: what a furnace that is not as described leads to, and who says so.

One constant of the simulated furnace is a third off: as it was built, with nothing learned of it yet; and after a
rebuild that nobody noted, with a model of the furnace as it was. For each the melt's alarms, and what the learner says
of that melt. Everything is simulated.
"""

import json
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from shutil import copytree
from tempfile import TemporaryDirectory
from typing import NamedTuple

import click

from hardware.simulated.plant import FurnacePlant
from hardware.simulated.plant_furnaces import BENCH as AS_BUILT
from hardware.simulated.plant_furnaces import FurnaceConstants
from supervisor.rehearsal.rehearse import Wish, rehearse
from tests.campaigns.poison import ANSWER_AFTER_S, BENCH, SHARES, known_after, learn_from, plan

MELTS = 3
"""So many are learned from before the rebuild."""

FACTORS = (0.7, 1.3)
MELTED = 0.6
"""Of the pot's fill: the melt that is looked at."""


def _loses(made: FurnaceConstants, factor: float) -> FurnaceConstants:
    brick = made.brick._replace(
        conductivity_w_m_k=factor * made.brick.conductivity_w_m_k,
        conductivity_per_k=factor * made.brick.conductivity_per_k,
    )
    return replace(made, brick=brick, leak_m2=factor * made.leak_m2, leak_w_k=factor * made.leak_w_k)


def _stores(made: FurnaceConstants, factor: float) -> FurnaceConstants:
    brick = made.brick._replace(density_kg_m3=factor * made.brick.density_kg_m3)
    return replace(made, brick=brick, pot_kg=factor * made.pot_kg)


CONSTANTS: dict[str, Callable[[FurnaceConstants, float], FurnaceConstants]] = {
    "element's resistance": lambda made, factor: replace(made, element_ohm=factor * made.element_ohm),
    "losses": _loses,
    "heat stored in lining and pot": _stores,
    "metal in the pot": lambda made, factor: made,
}


class Wrong(FurnacePlant):
    """The bench furnace with one constant off, or with more or less metal than is entered."""

    furnace_file = "bench"

    def __init__(self, seed: int, constant: str = "", factor: float = 1.0) -> None:
        super().__init__(CONSTANTS[constant](AS_BUILT, factor) if constant else AS_BUILT, seed, 0.0, 20.0)
        self._share = factor if constant == "metal in the pot" else 1.0

    def add_charge(self, mass_kg: float, temperature_c: float, alloy: str) -> None:
        """As much as the case says."""
        super().add_charge(self._share * mass_kg, temperature_c, alloy)


class Came(NamedTuple):
    """One melt on such a furnace. alarms: watch and evidence, in order; learned: why it waits for a person."""

    known: str
    constant: str
    factor: float
    ended: str
    alarms: tuple[tuple[str, str], ...]
    learned: str


def melt(directory: Path, number: int, seed: int, constant: str = "", factor: float = 1.0) -> Came:
    """One melt with what the log knows before it; then it is learned from."""
    known = known_after(directory, number)
    share = MELTED if constant else SHARES[number % len(SHARES)]
    came = rehearse(
        Wish(
            plan(share), BENCH.described, partial(Wrong, constant=constant, factor=factor),
            seed=1000 * seed + number, plant_seed=seed, answer_after_s=ANSWER_AFTER_S,
            knowing=known.adopted, commissioning=known.commissioning,
        ),
        directory,
    )  # fmt: skip
    raised = [(row["watch"], row["evidence"]) for row in came.alarms if row["step"] == "raised"]
    words = "nothing" if number == 1 else f"{number - 1} melts"
    return Came(words, constant, factor, came.state, tuple(raised), learn_from(directory, number))


@click.command()
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="Of the furnace and its firings.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def main(seed: int, as_json: bool) -> None:
    """Melt on furnaces that are not as described."""
    found: list[Came] = []
    with TemporaryDirectory() as place:
        as_it_was = Path(place) / "as-it-was"
        for number in range(1, MELTS + 1):
            melt(as_it_was, number, seed)
        for before in (0, MELTS):
            for constant in CONSTANTS:
                for factor in FACTORS:
                    here = Path(place) / f"{before} {constant} {factor}"
                    if before:
                        copytree(as_it_was, here)
                    found.append(melt(here, before + 1, seed, constant, factor))
                    if not as_json:
                        click.echo(_words(found[-1]))
    if as_json:
        click.echo(json.dumps({"simulated": True, "seed": seed, "melts": [one._asdict() for one in found]}))


def _words(came: Came) -> str:
    alarms = "; ".join(f"{watch}: {evidence}" for watch, evidence in came.alarms) or "no alarm"
    return (
        f"known: {came.known}; {came.constant} x {came.factor:g}: {came.ended}\n    {alarms}\n"
        f"    learner: {came.learned or 'adopted'}"
    )


if __name__ == "__main__":
    main()
