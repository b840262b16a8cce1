"""A relay that does not let go, and a lid opened over it, at forty moments; and lids over sound ones."""

from random import Random

import pytest

from supervisor.firing.states import State
from supervisor.furnace.description import FurnaceDescription
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake
from tests.supervisor.watches.equipped import WITH_CURRENT, WITHOUT_METER, started

CONTACTOR_OPEN_S = 6.0
TRIP_BY_METER_S, TRIP_BY_CURRENT_S = 4.0, 1.5
"""From the lid. By the reading alone it is not told at all: the contactor is open, and the chamber cools."""


def at_a_moment(
    described: FurnaceDescription, seed: int, *, between: tuple[float, float] = (600.0, 780.0)
) -> FurnaceAtHand:
    """On the way or holding, driven hard or hardly."""
    random = Random(seed)
    start_c = random.uniform(*between)
    to_c = 800.0 if random.random() < 0.6 else start_c + 3.0
    hand = started(described, bake(to_c=to_c, rate_c_per_h=3000.0), start_c=start_c)
    hand.wait(random.uniform(5.0, 90.0))
    return hand


def opened(hand: FurnaceAtHand, *, within_s: float) -> tuple[float | None, float | None]:
    """Seconds from the lid to contactor open, and to the trip."""
    began_s, contactor_s, trip_s = hand.now_s, None, None
    hand.furnace.lid(True)
    for _ in range(round(within_s * 4)):
        hand.turn()
        if contactor_s is None and not hand.level("contactor"):
            contactor_s = hand.now_s - began_s
        if trip_s is None and hand.state in (State.ABORTING, State.ABORTED):
            trip_s = hand.now_s - began_s
    return contactor_s, trip_s


@pytest.mark.parametrize(
    ("described", "trip_within_s"),
    [(BENCH, TRIP_BY_METER_S), (WITH_CURRENT, TRIP_BY_CURRENT_S)],
    ids=["meter", "meter and current input"],
)
@pytest.mark.parametrize("seed", range(40))
def test_a_lid_over_a_stuck_relay_opens_the_contactor_and_says_what_it_is(
    described: FurnaceDescription, trip_within_s: float, seed: int
) -> None:
    hand = at_a_moment(described, seed)
    hand.inject("relay_stuck_on")
    contactor_s, trip_s = opened(hand, within_s=8.0)
    assert contactor_s is not None
    assert contactor_s <= CONTACTOR_OPEN_S
    assert trip_s is not None
    assert trip_s <= trip_within_s
    assert hand.first_cause in ("power-without-command", "current-when-off")


@pytest.mark.parametrize("seed", range(20))
def test_without_meter_and_current_input_the_contactor_still_opens(seed: int) -> None:
    hand = at_a_moment(WITHOUT_METER, seed)
    hand.inject("relay_stuck_on")
    contactor_s, _ = opened(hand, within_s=8.0)
    assert contactor_s is not None
    assert contactor_s <= CONTACTOR_OPEN_S


@pytest.mark.parametrize("described", [BENCH, WITHOUT_METER, WITH_CURRENT], ids=["meter", "neither", "current input"])
@pytest.mark.parametrize("seed", range(8))
def test_a_lid_over_a_sound_relay_raises_nothing(described: FurnaceDescription, seed: int) -> None:
    hand = at_a_moment(described, seed, between=(420.0, 780.0))
    contactor_s, trip_s = opened(hand, within_s=120.0)
    assert contactor_s is not None
    assert trip_s is None
    assert hand.alarms() == []
