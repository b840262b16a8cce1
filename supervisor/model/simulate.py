"""A firing run through the model with the power it had: what the reading and the metal should then have done."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from supervisor.furnace.reckoning import ROOM_C
from supervisor.metal.charge import Charge
from supervisor.model.melting import Melting, melting, mixed
from supervisor.model.reduced import Reduced
from supervisor.model.series import STEP_S, Series

Floats = NDArray[np.float64]

LOOK_EVERY = 12
"""Steps between two looks at the model: a minute."""

_LONGEST_STEP_S = 5.0


class Course(NamedTuple):
    """What the model says at chosen steps, each (K, N). With an empty pot metal is nan."""

    steps: NDArray[np.int64]  # (K,), numbers of steps in the series
    reading_c: Floats
    metal_c: Floats
    share_molten: Floats


def simulate(
    model: Reduced,
    firing: Series,
    factors: Floats,
    *,
    mass_factor: float | Floats = 1.0,
    power_factor: float | Floats = 1.0,
    soak: float | Floats | None = None,
    every: int = LOOK_EVERY,
    together: int = 2,
) -> Course:
    """Run a firing open loop, for N sets of log factors (F, N) at once.

    every: look at the model after every so many steps, and at dip readings. together: so many steps are taken in one
    while the lid stays as it is. Factors on mass and power, and the soak of the lining at the start (see
    `Reduced.settled`), are numbers or (N,).
    """
    count, by = factors.shape[1], model.applied(factors)
    x = model.settled(firing.start_c, count, soak)
    metal: Melting | None = None
    entered_kg = 0.0
    mass_kg: float | Floats = 0.0
    charges = _charges(firing)
    looks = set(range(every, len(firing.t_s) + 1, every)) | {_step_of(firing, dip.t_s) + 1 for dip in firing.dips}
    steps: list[int] = []
    seen: list[tuple[Floats, Floats, Floats]] = []
    for first, stop in _strides(firing, looks | {step for step, *_ in charges}, together):
        for _, added_kg, charge in [each for each in charges if each[0] == first]:
            added = melting(charge)
            metal = added if metal is None else mixed(metal, entered_kg, added, added_kg)
            x = model.add(x, entered_kg * mass_factor, added_kg * mass_factor, ROOM_C, metal)
            entered_kg += added_kg
            mass_kg = entered_kg * mass_factor
        x = model.step(
            x,
            by,
            power_w=firing.power_w[first:stop].mean() * power_factor,
            lid_open=bool(firing.lid_open[first]),
            mass_kg=mass_kg,
            metal=metal,
            dt_s=STEP_S * (stop - first),
            longest_s=_LONGEST_STEP_S,
        )
        if stop in looks:
            steps.append(stop - 1)
            seen.append(_look(model, x, factors, metal))
    if not seen:
        return Course(np.empty(0, dtype=np.int64), *(np.empty((0, count)) for _ in range(3)))
    return Course(np.array(steps), *(np.array(column) for column in zip(*seen, strict=True)))


def _step_of(firing: Series, t_s: float) -> int:
    """The step that a moment falls into."""
    return min(len(firing.t_s) - 1, max(0, int(t_s / STEP_S)))


def _charges(firing: Series) -> list[tuple[int, float, Charge]]:
    """What goes into the pot before which step, kg; an addition without a charge of its own is the same metal."""
    found = [] if firing.charge is None else [(0, firing.charge.mass_kg, firing.charge)]
    for addition in firing.additions:
        if (charge := addition.charge or firing.charge) is not None:
            found.append((_step_of(firing, addition.t_s), addition.mass_kg, charge))
    return found


def _strides(firing: Series, stops: set[int], together: int) -> Iterator[tuple[int, int]]:
    """First step and the one after the last of each stride: none passes a stop or a change of the lid."""
    turns = set((np.flatnonzero(np.diff(firing.lid_open)) + 1).tolist())
    edges = stops | turns
    first, count = 0, len(firing.t_s)
    while first < count:
        stop = min(count, first + together)
        stop = min([edge for edge in range(first + 1, stop) if edge in edges], default=stop)
        yield first, stop
        first = stop


def _look(model: Reduced, x: Floats, factors: Floats, metal: Melting | None) -> tuple[Floats, Floats, Floats]:
    reading_c = model.reading_c(x)
    if metal is None:
        return reading_c, np.full_like(reading_c, np.nan), np.zeros_like(reading_c)
    return reading_c, model.metal_c(x, metal), model.share_molten(x, metal)
