"""A furnace whose proofs count, unlocked up to one of its stages."""

from supervisor.furnace.proofs import of
from supervisor.furnace.stages import Unlocking, make
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, furnace_at_hand


def at_stage(stage: int, *, start_c: float = 20.0) -> FurnaceAtHand:
    """A furnace whose proofs count, with those of the stages up to this one."""
    hand = furnace_at_hand(start_c=start_c)
    unlocking = Unlocking(today_ms=1_800_000_000_000)
    for name, kind in of(BENCH).items():
        if kind.opens <= stage:
            make(unlocking, name, BENCH, evidence="in a test", who="Ada", witnessed=not kind.stated)
    hand.memory.firing.unlocking = unlocking
    assert unlocking.stage(BENCH) == stage
    hand.wait(1.0)
    return hand
