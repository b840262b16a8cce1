"""`python -m tests.campaigns.gate`: firings in which the press of the start is the only one. Nothing may melt.

Both shipped furnaces, constants within 20 %, cold and warm starts, several alloys; in half of them somebody watches on
a phone and taps whenever the page offers it. Everything is simulated.
"""

import sys
from concurrent.futures import ProcessPoolExecutor
from random import Random
from typing import NamedTuple

import click

from supervisor.firing.states import State
from supervisor.rehearsal.drill.counts import poisson_upper
from tests.supervisor.firing.watched import may_go_away, tap
from tests.supervisor.furnace_at_hand import furnace_at_hand, melt

ALLOYS = ("6082", "6061", "5083", "2024", "7075", "A356.0", "unknown")


ENDS = ("longest-duration", "nobody-there")
AFTERWARDS_S = 300
"""So long it is watched on after heat has ended."""


class Unattended(NamedTuple):
    """What became of one."""

    share_molten: float  # the most, to the end and five minutes on
    metal_peak_c: float
    margin_k: float  # of the hottest metal under the solidus that the plant melts at
    reached_gate: bool
    ended: str
    why: str
    taps: int  # that were taken


def unattended(
    furnace: str,
    *,
    seed: int,
    start_c: float = 20.0,
    spread: float = 0.0,
    alloy: str = "6082",
    longest_h: float = 3.0,
    taps: bool = False,
) -> Unattended:
    """Start it with the one press, go away, and look at the metal to the end. taps: somebody answers from a phone."""
    hand = furnace_at_hand(furnace, seed=seed, start_c=start_c, spread=spread)
    hand.start(melt(alloy=alloy, longest_h=longest_h, rate_c_per_h=900.0))
    if taps:
        may_go_away(hand)
    molten, peak_c, asked = 0.0, 0.0, False
    after = 0
    while after < AFTERWARDS_S * 4 and hand.now_s < 13 * 3600.0:
        hand.turn()
        if hand.memory.firing.attendance.task is not None:
            tap(hand)
        state = hand.furnace.state
        molten, peak_c = max(molten, state.share_molten), max(peak_c, state.metal_hottest_c)
        asked = asked or hand.asked is not None
        after += hand.state not in (State.RUNNING, State.HELD)
    solidus_c = hand.memory.firing.run.profile.charge.solidus_c  # type: ignore[union-attr]
    margin_k = (solidus_c or 660.0) - peak_c
    (last,) = [e for e in hand.events("state") if e.detail["to"] in ("stopping", "aborting", "completing")]
    tapped = len(hand.events("sign"))
    return Unattended(molten, peak_c, margin_k, asked, hand.state.value, str(last.detail["why"]), tapped)


def drawn(seed: int) -> Unattended:
    """One of the campaign, from its seed."""
    dice = Random(seed)
    return unattended(
        dice.choice(("bench", "workshop")),
        seed=seed,
        start_c=dice.choice((20.0, dice.uniform(60.0, 540.0))),
        spread=0.2,
        alloy=dice.choice(ALLOYS),
        longest_h=round(dice.uniform(1.5, 6.0), 2),
        taps=dice.random() < 0.5,
    )


@click.command()
@click.option("--trials", type=click.IntRange(1), default=10, show_default=True, help="Number of firings.")
@click.option("--seed", type=int, default=1, show_default=True, help="Seed of the first.")
@click.option("--jobs", type=click.IntRange(1), default=2, show_default=True, help="How many at a time.")
def main(trials: int, seed: int, jobs: int) -> None:
    """Count the firings in which something melted, and those that ended otherwise than by nobody there, or by time."""
    with ProcessPoolExecutor(jobs) as pool:
        found = list(pool.map(drawn, range(seed, seed + trials)))
    melted = [trial for trial in found if trial.share_molten > 0.0]
    otherwise = [trial for trial in found if trial.why not in ENDS]
    click.echo(f"{trials} firings, the start's press alone: {len(melted)} melted (simulated).")
    click.echo(f"95 % one-sided bound: {poisson_upper(len(melted)) / trials:.3f} of all.")
    click.echo(f"The gate was reached in {sum(trial.reached_gate for trial in found)}.")
    click.echo(f"Least distance of the hottest metal from the solidus: {min(t.margin_k for t in found):.0f} K.")
    click.echo(f"Taps on a page that were taken: {sum(trial.taps for trial in found)}.")
    for why in ENDS:
        click.echo(f"Ended by {why}: {sum(trial.why == why for trial in found)}.")
    for trial in otherwise:
        click.echo(f"Ended otherwise: {trial}")
    sys.exit(1 if melted or otherwise else 0)


if __name__ == "__main__":
    main()
