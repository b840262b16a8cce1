"""A furnace that is warm at the start: after the melt before, or after a firing that somebody stopped early."""

from random import Random
from typing import NamedTuple

from hardware.ports import Plant

MELTED_AT_C = 740.0
STEP_S = 0.5
BRIEFLY_S = 2700.0
COOLS_AT_MOST_S = 6 * 3600.0
LID_OPEN_S = 15.0


class Warm(NamedTuple):
    """How it came to be warm: kept at kept_c for kept_s, then cooled under a shut lid to from_c."""

    kept_c: float
    kept_s: float
    from_c: float


def drawn(dice: Random) -> Warm:
    """Four in five: some hours at melting heat, as a furnace is warm as a rule. Else briefly at what it has now."""
    from_c = dice.uniform(150.0, 560.0)
    if dice.random() < 0.8:
        return Warm(MELTED_AT_C, dice.uniform(1.5, 3.0) * 3600.0, from_c)
    return Warm(from_c, BRIEFLY_S, from_c)


def warm(plant: Plant, how: Warm) -> None:
    """Bring the plant there by hand, on and off; at the end the lid is open for a moment."""
    for _ in range(round(how.kept_s / STEP_S)):
        on = plant.state.hot_junction_c < how.kept_c
        plant.step(STEP_S, element_on=on, lid_open=False, mains_factor=1.0)
    for _ in range(round(COOLS_AT_MOST_S / STEP_S)):
        if plant.state.hot_junction_c <= how.from_c:
            break
        plant.step(STEP_S, element_on=False, lid_open=False, mains_factor=1.0)
    for _ in range(round(LID_OPEN_S / STEP_S)):
        plant.step(STEP_S, element_on=False, lid_open=True, mains_factor=1.0)
