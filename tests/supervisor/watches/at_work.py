"""A furnace that heats a bake, sound or with a fault: where most cases of the watches begin."""

from collections.abc import Callable

from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, running


def heating(**made: object) -> FurnaceAtHand:
    return running(bake(to_c=600.0), start_c=450.0, **made)


def after(fault: str, *, value: float | None = None) -> Callable[[], FurnaceAtHand]:
    def case() -> FurnaceAtHand:
        hand = heating()
        hand.inject(fault, value)
        return hand

    return case
