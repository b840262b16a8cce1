"""Conservation of energy, the first law of thermodynamics, over whole simulated firings: nothing appears or vanishes.

What is stored is counted from the temperatures of all bodies, what is lost from the flows into the room, and what was
supplied from the current: three separate counts.
"""

from collections.abc import Callable, Iterator

import pytest

from hardware.ports import PlantState
from hardware.simulated.plant import Bench, FurnacePlant, Workshop

FURNACES: list[Callable[..., FurnacePlant]] = [Bench, Workshop]
SHARE = 0.001


def gap_share(furnace: FurnacePlant) -> float:
    """What is missing of the energy supplied, as a share of it."""
    s = furnace.state
    return (s.stored_j + s.lost_j - s.supplied_j - furnace.brought_j) / s.supplied_j


def hold(furnace: FurnacePlant, seconds: float, top_c: float, *, lid_open: bool = False) -> Iterator[PlantState]:
    """Go on with the element on below top_c; the state once a minute."""
    for i in range(int(seconds * 4)):
        state = furnace.step(0.25, element_on=furnace.state.hot_junction_c < top_c, lid_open=lid_open, mains_factor=1.0)
        if i % 240 == 239:
            yield state


def firing(furnace: FurnacePlant) -> Iterator[PlantState]:
    """Melt, open the lid, add, hold, pour and cool: three hours in all."""
    furnace.add_charge(1.5, 20.0, "6082")
    yield from hold(furnace, 4200.0, 760.0)
    yield from hold(furnace, 60.0, 0.0, lid_open=True)
    furnace.add_charge(0.5, 150.0, "A356.0")
    yield from hold(furnace, 2400.0, 760.0)
    furnace.pour()
    yield from hold(furnace, 60.0, 0.0, lid_open=True)
    yield from hold(furnace, 4080.0, 0.0)


@pytest.mark.parametrize("make", FURNACES)
def test_what_was_supplied_is_stored_or_lost(make: Callable[..., FurnacePlant]) -> None:
    furnace = make(seed=3)
    minutes = [gap_share(furnace) for _ in firing(furnace)]
    assert len(minutes) == 180
    assert max(map(abs, minutes)) < SHARE
    last = furnace.state
    assert last.supplied_j > 3e6
    assert last.lost_j > 0.3 * last.supplied_j
    assert last.metal_kg == 0.0  # all of it was liquid, and its enthalpy stands under lost


@pytest.mark.parametrize("make", FURNACES)
def test_steam_is_in_the_ledger(make: Callable[..., FurnacePlant]) -> None:
    furnace = make(seed=3)
    furnace.disturb("wet_lining_kg", 0.5)
    for _ in hold(furnace, 7200.0, 350.0):
        assert abs(gap_share(furnace)) < SHARE
    assert furnace.water_kg < 0.4


@pytest.mark.parametrize("dt_s", [0.02, 0.25, 0.5, 2.0])
def test_the_ledger_closes_at_every_step_length(dt_s: float) -> None:
    furnace = Bench(seed=4, spread=0.2, start_c=400.0)
    furnace.add_charge(1.0, 20.0, "unknown")
    for i in range(int(1800.0 / dt_s)):
        furnace.step(dt_s, element_on=i * dt_s % 4.0 < 2.0, lid_open=False, mains_factor=1.0)
    assert abs(gap_share(furnace)) < SHARE
