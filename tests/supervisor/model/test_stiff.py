"""The stiff filter: small innovations on a healthy furnace, large ones when heat and reading part; when it is silent.

The furnace is the simulated bench; its physics are not those that the filter reckons with.
"""

from collections.abc import Callable

import numpy as np
import pytest

from hardware.simulated.plant import Bench
from supervisor.firing.follow import Follow
from supervisor.furnace.file import read_furnace
from supervisor.model.outset import MASS, S
from supervisor.model.stiff import QUIET, WINDOWS_S, Stiff
from supervisor.watches.off import LIMITS_K, beyond

BENCH = read_furnace("bench")
DUTY = 0.5


class Heated:
    """A bench furnace at half power from 500 °C, and a filter beside it. What is ordered and what flows may differ."""

    def __init__(self, seed: int = 3) -> None:
        self.plant = Bench(seed=seed, spread=0.2, start_c=500.0)
        self.stiff = Stiff(BENCH, None, reading_c=500.0, charge=None, warm=False)
        self.seconds = 0
        self.worst_k = dict.fromkeys(WINDOWS_S, 0.0)

    def go(self, seconds: int, *, flows: float = DUTY, lid: bool = False, seen: bool | None = None) -> None:
        """seen: what the lid switch says; the lid itself when not given."""
        for _ in range(seconds):
            self.seconds += 1
            on = self.seconds % 10 < round(10 * flows)
            ordered = self.seconds % 10 < round(10 * DUTY)
            readings = []
            for _ in range(4):
                state = self.plant.step(0.25, element_on=on, lid_open=lid, mains_factor=1.0)
                readings.append(state.hot_junction_c)
            self.stiff.go_on(sum(readings) / 4.0, BENCH.full_power_w * ordered, lid_open=lid if seen is None else seen)
            for window_s in WINDOWS_S:
                mean_k = self.stiff.mean_k(window_s)
                if mean_k is not None:
                    self.worst_k[window_s] = max(self.worst_k[window_s], abs(mean_k))

    def until_beyond(self, sign: float, at_most_s: int, go: Callable[[], None]) -> int:
        """Seconds until one of the watches' limits is passed."""
        for number in range(at_most_s):
            go()
            means = [self.stiff.mean_k(window_s) for window_s in WINDOWS_S[:3]]
            if any(m is not None and sign * m > limit for m, limit in zip(means, LIMITS_K, strict=True)):
                return number + 1
        raise AssertionError(f"not within {at_most_s} s: {means}")


@pytest.mark.parametrize("seed", [3, 4, 5])
def test_innovations_of_a_healthy_furnace_stay_within_the_limits_of_the_watches(seed: int) -> None:
    heated = Heated(seed)
    heated.go(1200)
    for window_s, limit_k in zip(WINDOWS_S[:3], LIMITS_K, strict=True):
        assert 0.0 < heated.worst_k[window_s] < limit_k


def test_heat_that_nobody_ordered_pulls_them_up_within_a_minute() -> None:
    heated = Heated()
    heated.go(600)
    assert heated.until_beyond(1.0, 90, lambda: heated.go(1, flows=1.0)) <= 60


def test_heat_that_does_not_come_pulls_them_down_within_a_minute_and_a_half() -> None:
    heated = Heated()
    heated.go(600)
    assert heated.until_beyond(-1.0, 120, lambda: heated.go(1, flows=0.0)) <= 90


def test_a_lid_that_its_switch_does_not_see_pulls_them_down_within_a_minute() -> None:
    heated = Heated()
    heated.go(1500)
    assert heated.until_beyond(-1.0, 90, lambda: heated.go(1, lid=True, seen=False)) <= 60


def test_nothing_is_reckoned_in_the_first_minutes_nor_until_a_window_is_full() -> None:
    heated = Heated()
    heated.go(QUIET.start_s + 9)
    assert heated.stiff.mean_k(10) is None
    heated.go(1)
    assert heated.stiff.mean_k(10) is not None
    assert heated.stiff.mean_k(30) is None


@pytest.mark.parametrize(
    ("happens", "quiet_s"),
    [
        (lambda heated: heated.go(1, lid=True), QUIET.lid_s - 1),
        (lambda heated: heated.stiff.put_in(0.2, None), QUIET.addition_s),
        (lambda heated: heated.stiff.pour(), QUIET.addition_s),
        (lambda heated: heated.stiff.weigh(0.3), QUIET.addition_s),
    ],
    ids=["lid", "addition", "pour", "weighed again"],
)
def test_after_lid_addition_and_pour_it_is_silent_for_as_long_as_it_says(
    happens: Callable[[Heated], None], quiet_s: int
) -> None:
    heated = Heated()
    heated.stiff.put_in(0.3, None)
    heated.go(QUIET.addition_s + 20)
    assert heated.stiff.mean_k(10) is not None
    happens(heated)
    heated.go(quiet_s + 9)
    assert heated.stiff.mean_k(10) is None
    heated.go(1)
    assert heated.stiff.mean_k(10) is not None


def test_a_second_without_a_reading_is_left_out() -> None:
    heated = Heated()
    heated.go(600)
    before_k = heated.stiff.mean_k(10)
    heated.stiff.go_on(None, 0.0, lid_open=False)
    assert heated.stiff.mean_k(10) == before_k


def test_what_was_learned_of_the_furnace_moves_no_more_once_a_watch_has_spoken() -> None:
    heated = Heated()
    heated.go(400)
    heated.stiff.freeze()
    factors = heated.stiff._belief.mean[S:MASS].copy()
    heated.go(100, flows=0.0)
    assert np.allclose(heated.stiff._belief.mean[S:MASS], factors)


@pytest.mark.parametrize(("reading_c", "power_w"), [(float("nan"), 0.0), (20.0, float("inf"))])
def test_what_is_no_number_is_refused(reading_c: float, power_w: float) -> None:
    heated = Heated()
    with pytest.raises(ValueError, match="stiff filter"):
        heated.stiff.go_on(reading_c, power_w, lid_open=False)


def test_a_filter_that_cannot_go_on_says_nothing_any_more_and_raises_nothing() -> None:
    follow = Follow()
    follow.begin(BENCH, None, 500.0, None, learned=False)
    for _ in range(QUIET.start_s + 20):
        follow.second(500.0, 0.0, lid_open=False)
    assert follow.innovations is not None
    follow.second(float("nan"), 0.0, lid_open=False)
    assert follow.innovations is None
    assert beyond(follow.innovations, -1.0) == ""
