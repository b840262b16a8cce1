"""`python -m tests.benchmarks.estimate_scores bench --first 101 --furnaces 30`: the melt estimate against the truth.

Each furnace melts a few times to be learned, then once more to be judged. rms error and coverage of the 90 % band by
phase of the plant's share molten (0, between, 1); pooled, each firing one weight.
"""

import json
from collections import defaultdict
from dataclasses import dataclass, field
from math import sqrt

import click

from hardware.ports import PlantState
from hardware.simulated.plant import Bench, Workshop
from supervisor.furnace.file import read_furnace
from supervisor.model.bands import strangeness
from supervisor.model.estimate import Estimator
from tests.benchmarks.estimate_trials import Maker, judged, learned
from tests.benchmarks.figure import Figure, table
from tests.plants.strong import StrongFurnace
from tests.plants.unseen import UnseenFurnace
from tests.plants.weak import WeakFurnace

PLANTS: dict[str, Maker] = {
    "bench": Bench,
    "workshop": Workshop,
    "weak": WeakFurnace,
    "strong": StrongFurnace,
    "unseen": UnseenFurnace,
}
PHASES = ("solid", "melting", "liquid")


@dataclass
class Score:
    """One firing: for each phase squared errors, whether the band held the truth, and its half widths."""

    squared: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    held: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    half_k: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    suspected: bool = False
    doubted: bool = False
    dipped: bool = False

    def watch(self, t_s: float, estimator: Estimator, state: PlantState) -> None:
        """Look at it once a minute."""
        found = estimator.estimate()
        self.suspected |= bool(estimator.suspicions)
        if found is None or t_s % 60.0:
            return
        phase = "solid" if state.share_molten <= 0.0 else "liquid" if state.share_molten >= 1.0 else "melting"
        self.doubted |= bool(found.doubt)
        for name in (phase, "after dip") if self.dipped and phase == "liquid" else (phase,):
            self.squared[name].append((found.metal_c - state.metal_mean_c) ** 2)
            self.held[name].append(found.low_c <= state.metal_mean_c <= found.high_c)
            self.half_k[name].append((found.high_c - found.low_c) / 2.0)


class _Dipping(Estimator):
    """Tells its score when a dip reading came."""

    score: Score

    def dip(self, metal_c: float) -> None:
        super().dip(metal_c)
        self.score.dipped = True


def scored(plant: str, seed: int, *, firings: int, learn_dips: bool, dips: bool) -> tuple[Score, float]:
    """One furnace: its score, and how strange its learned model finds it."""
    maker, score = PLANTS[plant], Score()
    furnace = read_furnace(maker.furnace_file)
    model = learned(maker, furnace, seed, firings=firings, dips=learn_dips) if firings else None

    def made(*args: object, **named: object) -> Estimator:
        estimator = _Dipping(*args, **named)  # type: ignore[arg-type]
        estimator.score = score
        return estimator

    judged(maker, furnace, seed, model, score.watch, dips=dips, made=made)
    return score, strangeness(model)


def figures(
    plant: str, seeds: range, *, firings: int = 3, learn_dips: bool = False, dips: bool = False
) -> list[Figure]:
    """The figures of one kind of furnace. Goals stand as baselines."""
    found = [scored(plant, seed, firings=firings, learn_dips=learn_dips, dips=dips) for seed in seeds]
    scores = [score for score, _ in found]
    rows = []
    goals = {"solid": 25.0, "melting": 12.0, "liquid": 15.0, "after dip": 8.0}
    for phase in (*PHASES, "after dip") if dips else PHASES:
        seen = [score for score in scores if score.squared[phase]]
        if not seen:
            continue
        rms = sqrt(_mean([_mean(score.squared[phase]) for score in seen]))
        held = 100.0 * _mean([_mean([float(held) for held in score.held[phase]]) for score in seen])
        half_k = _mean([_mean(score.half_k[phase]) for score in seen])
        name = phase.replace(" ", "_")
        rows.append(Figure(f"metal_rms_{name}_c", rms, "K", goals[phase], f"{len(seen)} firings; baseline: goal"))
        rows.append(Figure(f"coverage_{name}", held, "%", 90.0, f"of the 90 % band, {half_k:.1f} K half width"))
    count = float(len(scores))
    rows.append(Figure("suspected", float(sum(score.suspected for score in scores)), "firings", None, f"of {count:g}"))
    rows.append(Figure("doubted", float(sum(score.doubted for score in scores)), "firings", None, f"of {count:g}"))
    rows.append(Figure("strangeness", _mean([strange for _, strange in found]), "0 to 1", None, "mean"))
    return rows


def _mean(values: list[float]) -> float:
    return sum(values) / len(values)


@click.command()
@click.argument("plant", type=click.Choice(sorted(PLANTS)))
@click.option("--first", default=101, show_default=True, help="First seed.")
@click.option("--furnaces", type=click.IntRange(1, 1000), default=10, show_default=True, help="How many seeds.")
@click.option("--firings", type=click.IntRange(0, 6), default=3, show_default=True, help="Melts learned from.")
@click.option("--learn-dips", is_flag=True, help="The melts learned from have a dip reading each.")
@click.option("--dips", is_flag=True, help="The melt judged has a dip reading.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def main(plant: str, *, first: int, furnaces: int, firings: int, learn_dips: bool, dips: bool, as_json: bool) -> None:
    """Judge the melt estimate on one kind of simulated furnace."""
    rows = figures(plant, range(first, first + furnaces), firings=firings, learn_dips=learn_dips, dips=dips)
    click.echo(json.dumps([row.as_object() for row in rows]) if as_json else table(rows))


if __name__ == "__main__":
    main()
