"""The reading against the power just after power was stepped."""

import pytest

from supervisor.watches.history import History
from supervisor.watches.model import WarmerThanPower
from supervisor.watches.view import Innovations, View
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake
from tests.supervisor.watches.equipped import started


@pytest.fixture(scope="module")
def hand() -> FurnaceAtHand:
    return started(BENCH, bake(to_c=520.0), start_c=500.0)


def eased(*, to: float, moves_k_per_s: float) -> History:
    """Three minutes of full power, then forty seconds of less, in which the reading moves."""
    history = History()
    for _ in range(180):
        history.append(740.0, 787.0, 1.0, 0)
    for second in range(40):
        history.append(740.0 + moves_k_per_s * second, 727.0, to, 0)
    return history


def seen(hand: FurnaceAtHand, history: History, mean_10_k: float) -> View:
    memory = hand.memory
    assert memory.sample is not None
    innovations = Innovations(mean_10_k, 2.0, 0.6, 0.3, True)
    sample = memory.sample
    belief, firing, furnace = memory.belief, memory.firing, memory.furnace
    return View(
        hand.now_s, sample.inputs, belief, history, firing, furnace, memory.log, 0, 0.0, sample.board, None, innovations
    )


@pytest.mark.parametrize(
    ("to", "moves_k_per_s", "mean_10_k", "speaks"),
    [
        (0.6, -0.36, 4.4, False),  # a furnace whose sensor sees less of its element than was learned
        (0.6, -0.36, 2.8, False),
        (0.6, 0.1, 2.8, False),
        (0.6, 0.1, 4.4, True),  # a relay that does not let go
        (0.9, -0.36, 2.8, True),  # no step
        (0.0, 0.1, 4.4, True),
    ],
)
def test_when_power_has_eased_a_falling_reading_is_late_and_a_rising_one_is_heated(
    hand: FurnaceAtHand, to: float, moves_k_per_s: float, mean_10_k: float, *, speaks: bool
) -> None:
    found = WarmerThanPower().judge(seen(hand, eased(to=to, moves_k_per_s=moves_k_per_s), mean_10_k))
    assert (found is not None) is speaks
