import math
from itertools import pairwise

import pytest

from hardware.simulated.pace import Pace


class Turn:
    """A host's loop in virtual time: `busy_s` is how long the supervisor takes from a sample to its next request."""

    def __init__(self, times_real: float) -> None:
        self.now_s = 100.0
        self.pace = Pace(times_real, self.now_s)
        self.ready_s = 0.0
        self.made: list[tuple[float, bool]] = []

    def run(self, points: int, *, busy_s: float = 0.0, connected: bool = True, slow: bool = False) -> None:
        for _ in range(points):
            while True:
                ready = connected and self.now_s >= self.ready_s
                wait_s = self.pace.wait_s(self.now_s, connected=connected, ready=ready)
                if wait_s == 0.0:
                    break
                until_s = self.now_s + wait_s
                self.now_s = min(until_s, self.ready_s) if connected and self.ready_s > self.now_s else until_s
            self.made.append((round(self.now_s - 100.0, 6), ready))
            self.pace.stepped(self.now_s, connected=connected, ready=ready, slow=slow)
            if ready:
                self.ready_s = self.now_s + busy_s


def times_s(turn: Turn) -> list[float]:
    return [time_s for time_s, _ in turn.made]


def test_at_1_x_the_grid_is_the_clock() -> None:
    turn = Turn(1.0)
    turn.run(8, busy_s=0.01)
    assert times_s(turn) == [0.25 * number for number in range(1, 9)]


def test_at_1_x_a_cycle_up_to_200_ms_late_loses_nothing_and_moves_no_later_point() -> None:
    turn = Turn(1.0)
    turn.run(2)
    turn.ready_s = turn.now_s + 0.25 + 0.19
    turn.run(3)
    assert turn.made == [(0.25, True), (0.5, True), (0.94, True), (1.0, True), (1.25, True)]


def test_at_1_x_a_later_cycle_loses_its_grid_points() -> None:
    turn = Turn(1.0)
    turn.run(2)
    turn.ready_s = turn.now_s + 0.9
    turn.run(4)
    assert turn.made == [(0.25, True), (0.5, True), (0.95, False), (1.0, False), (1.25, False), (1.5, True)]


def test_faster_than_1_x_the_grid_is_shorter() -> None:
    turn = Turn(10.0)
    turn.run(101, busy_s=0.001)
    assert turn.made[-1][0] == pytest.approx(0.25 + 100 * 0.025)


def test_faster_than_1_x_the_clock_waits_for_a_busy_supervisor_without_losing_a_point() -> None:
    turn = Turn(60.0)
    turn.run(20, busy_s=0.9)
    assert all(ready for _, ready in turn.made)


def test_faster_than_1_x_the_clock_goes_on_alone_at_1_x_after_a_second() -> None:
    turn = Turn(60.0)
    turn.run(2)
    began_s = turn.now_s - 100.0
    turn.ready_s = turn.now_s + 3.0
    turn.run(10)
    lost = [time_s - began_s for time_s, ready in turn.made[2:] if not ready]
    assert lost[0] == pytest.approx(1.0 + 0.25 / 60, abs=1e-5)
    assert [later - lost[0] for later in lost] == pytest.approx(
        [0.25 * number for number in range(len(lost))], abs=1e-5
    )
    assert lost[-1] < 3.0
    assert turn.pace.now_times_real == 60.0


def test_without_a_supervisor_it_is_1_x() -> None:
    turn = Turn(60.0)
    turn.run(5, connected=False)
    assert times_s(turn) == [0.25, 0.5, 0.75, 1.0, 1.25]


def test_it_slows_down_and_speeds_up_again() -> None:
    turn = Turn(10.0)
    turn.run(1)
    turn.run(2, slow=True)
    turn.run(2)
    assert [later - earlier for earlier, later in pairwise(times_s(turn))] == pytest.approx([0.025, 0.25, 0.25, 0.025])


def test_what_the_host_slept_through_is_not_caught_up() -> None:
    turn = Turn(1.0)
    turn.run(1)
    turn.now_s += 60.0
    turn.run(2)
    assert times_s(turn) == [0.25, 60.25, 60.5]


@pytest.mark.parametrize("times_real", [0.0, 0.5, 61.0, math.nan, math.inf])
def test_a_pace_out_of_range_is_refused(times_real: float) -> None:
    with pytest.raises(ValueError, match=r"times_real is .*; allowed: 1 to 60"):
        Pace(times_real, 0.0)
