"""`python -m tests.campaigns.back`: was the gate reached before the hour that a person was told to be back by?

Furnaces whose constants are within 20 % of their file, with a model that has just begun to be learned and knows no more
than that file: the hardest case. Cold and warm starts, slow plans and the furnace's own pace, mains that step by up to
3 % on the way. A firing counts as broken if any hour said in it was later than the gate's question. All simulated.
"""

import sys
from concurrent.futures import ProcessPoolExecutor
from random import Random
from typing import NamedTuple

import click

from supervisor.firing.presses import Asked
from supervisor.link.back import back
from supervisor.rehearsal.drill.counts import poisson_upper
from tests.supervisor.firing.knowing import as_described
from tests.supervisor.firing.watched import may_go_away, tap
from tests.supervisor.furnace_at_hand import furnace_at_hand, melt

YOUNG_SD = 1.0
"""Of what was not known before: the model knows nothing yet that the file does not say."""
LONGEST_S = 4.0 * 3600.0


class Told(NamedTuple):
    """One firing, in seconds of its own time."""

    asked_s: float | None  # when the gate asked; None: never
    latest_s: float | None  # the latest hour that was ever said; None: none was
    first_s: float | None  # the first one
    said_share: float  # of the time to the gate in which an hour stood
    moves: int

    @property
    def broken(self) -> bool:
        """Somebody who believed an hour would have come too late."""
        return self.asked_s is not None and self.latest_s is not None and self.latest_s > self.asked_s


def told(seed: int) -> Told:
    """One firing, from its seed."""
    dice = Random(seed)
    name = dice.choice(("bench", "workshop"))
    hand = furnace_at_hand(name, seed=seed, start_c=dice.choice((20.0, dice.uniform(60.0, 300.0))), spread=0.2)
    hand.memory.firing.adviser.adopted = as_described(hand.memory.furnace, sd=YOUNG_SD)
    hand.memory.firing.drained = True
    hand.furnace.mains_factor = dice.uniform(0.97, 1.03)
    rate = dice.choice((300.0, 600.0, 900.0, 3000.0, 9000.0))
    hand.start(melt(rate_c_per_h=rate, mass_kg=round(dice.uniform(0.8, 2.2), 2)))
    may_go_away(hand, hand.memory.firing.adviser.adopted)
    steps_at_s = dice.uniform(0.0, 3600.0)
    said: list[float] = []
    seconds = moves = 0
    while hand.asked is not Asked.GATE and hand.now_s < LONGEST_S:
        hand.turn()
        if hand.now_s >= steps_at_s:
            hand.furnace.mains_factor, steps_at_s = dice.uniform(0.97, 1.03), LONGEST_S
        if hand.memory.firing.attendance.task is not None:
            tap(hand)
        elif hand.asked is Asked.SIGN:
            hand.press()
        if hand.memory.cycles % 4 == 0:
            seconds += 1
            found = back(hand.memory)
            moves += found["moved"] is not None and found["moved"]["ago_s"] < 1.0
            if found["in_s"]:  # 0: come now
                said.append(hand.now_s + found["in_s"])
    asked_s = hand.now_s if hand.asked is Asked.GATE else None
    return Told(asked_s, max(said, default=None), said[0] if said else None, len(said) / seconds, moves)


@click.command()
@click.option("--firings", type=click.IntRange(1), default=10, show_default=True, help="Number of firings.")
@click.option("--seed", type=int, default=1, show_default=True, help="Seed of the first.")
@click.option("--jobs", type=click.IntRange(1), default=2, show_default=True, help="How many at a time.")
def main(firings: int, seed: int, jobs: int) -> None:
    """Count the firings in which the gate was reached before an hour that had been said. More than 5 % is a failure."""
    with ProcessPoolExecutor(jobs) as pool:
        found = []
        for number, one in enumerate(pool.map(told, range(seed, seed + firings), chunksize=1), start=1):
            found.append(one)
            click.echo(f"{number} of {firings}: {'too late' if one.broken else 'in time'}.", err=True)
    counted = [one for one in found if one.asked_s is not None and one.latest_s is not None]
    broken = [one for one in counted if one.broken]
    if not counted:
        raise click.ClickException("no firing had both an hour and a gate that asked")
    spare = sorted(((one.asked_s or 0.0) - (one.latest_s or 0.0)) / 60.0 for one in counted)
    said = sum(one.said_share for one in counted) / len(counted)
    share = len(broken) / len(counted)
    click.echo(f"{len(counted)} of {firings} firings told an hour and came to the gate (simulated, constants +-20 %).")
    click.echo(f"Gate reached before an hour that had been said: {len(broken)}, {100.0 * share:.1f} %.")
    click.echo(f"95 % one-sided bound: {100.0 * poisson_upper(len(broken)) / len(counted):.1f} %.")
    click.echo(f"From the latest hour to the gate: {spare[0]:.1f} min at least, median {spare[len(spare) // 2]:.1f}.")
    click.echo(f"An hour stood in {100.0 * said:.0f} % of the time to the gate.")
    click.echo(f"The hour moved {sum(one.moves for one in counted) / len(counted):.1f} times a firing.")
    sys.exit(1 if share > 0.05 else 0)


if __name__ == "__main__":
    main()
