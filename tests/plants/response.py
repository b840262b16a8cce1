"""How the reading of a plant answers power: the step test whose results stand in a furnace file."""

from collections.abc import Callable
from copy import deepcopy
from typing import NamedTuple

from hardware.ports import Plant
from supervisor.furnace.description import Response

_SECOND_S = 1.0
_SPAN_S = 40


class _Hold(NamedTuple):
    plant: Plant
    duty: float


def measured(make: Callable[..., Plant], at_c: float, top_c: float) -> Response:
    """Step of power at a hold with an empty pot, full power from cold, lid opened at top_c."""
    hold = _hold(make(seed=1), at_c)
    step = 0.25
    low, high = (_readings(deepcopy(hold.plant), duty, 400) for duty in (hold.duty, hold.duty + step))
    rise = [(b - a) / step for a, b in zip(low, high, strict=True)]  # noise and drift are the same in both
    slope, at_s = _steepest(rise)
    dead_s = at_s - rise[round(at_s)] / slope
    cold = _readings(make(seed=1), 1.0, 1500)
    hot = _hold(make(seed=1), top_c).plant
    falling = [
        hot.step(_SECOND_S, element_on=False, lid_open=True, mains_factor=1.0).hot_junction_c for _ in range(120)
    ]
    return Response(slope, dead_s, _steepest(cold)[0], _steepest([-reading for reading in falling])[0])


def _steepest(readings: list[float]) -> tuple[float, float]:
    """The steepest slope, K/s, and the middle of the span that has it, s."""
    slopes = [(b - a) / _SPAN_S for a, b in zip(readings, readings[_SPAN_S:], strict=False)]
    steepest = max(slopes)
    return steepest, slopes.index(steepest) + _SPAN_S / 2.0


def _hold(plant: Plant, at_c: float) -> _Hold:
    """Heat up, then let an integral find the duty, for two hours. Power goes with the square of the mains."""
    duty, integral = 0.0, 0.2
    for _ in range(7200):
        error = at_c - plant.state.hot_junction_c
        wanted = 0.01 * error + integral
        duty = min(max(wanted, 0.0), 1.0)
        integral += 5e-5 * error + (duty - wanted) / 100.0
        plant.step(_SECOND_S, element_on=duty > 0.0, lid_open=False, mains_factor=duty**0.5)
    return _Hold(plant, integral)


def _readings(plant: Plant, duty: float, seconds: int) -> list[float]:
    factor = duty**0.5
    return [
        plant.step(_SECOND_S, element_on=True, lid_open=False, mains_factor=factor).hot_junction_c
        for _ in range(seconds)
    ]
