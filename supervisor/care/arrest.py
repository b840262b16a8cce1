"""The sensor held against the melting metal: what it reads while known metal melts, less what the model expects there.

While metal melts its temperature is the alloy's own, between solidus and liquidus, and the wall stands over it by what
the power asks: a hundred kelvin or so, known within one or two where the power is metered. That is what makes melting a
check of the sensor. The level of the flat part alone is none: it lies 50 to 170 K over the metal.
"""

from typing import NamedTuple

import numpy as np

from supervisor.furnace.description import FurnaceDescription
from supervisor.model.learned import Model
from supervisor.model.reduced import Reduced
from supervisor.model.series import STEP_S, Series
from supervisor.model.simulate import simulate

MOLTEN_FROM, MOLTEN_TO = 0.10, 0.90
LEAST_POINTS = 4
"""Minutes of melting without an open lid: fewer say nothing (our choice)."""
AFTER_LID_S = 240.0
"""The reading has forgotten the lid by then (our choice)."""


class Arrest(NamedTuple):
    """One melting, as the sensor saw it."""

    offset_k: float  # reading less what the model expects of it, mean of the melting
    sd_k: float  # of its minutes round that
    minutes: int
    reading_c: float  # mean
    metal_c: float  # the model's, mean: between solidus and liquidus
    known: bool  # the alloy is known: solidus and liquidus are its own


def arrest(firing: Series, furnace: FurnaceDescription, model: Model) -> Arrest | None:
    """What the sensor read while the charge melted, less what it should have; None: no melting to go by.

    model: one that was learned while the sensor was trusted, and that stays the same for all melts that are compared.
    """
    if firing.charge is None:
        return None
    course = simulate(Reduced(furnace), firing, np.array(model.log_factors)[:, None])
    share, modelled_c, metal_c = course.share_molten[:, 0], course.reading_c[:, 0], course.metal_c[:, 0]
    settle = round(AFTER_LID_S / STEP_S)
    opened = np.flatnonzero(firing.lid_open)
    kept = [
        (firing.reading_c[step] - modelled_c[at], firing.reading_c[step], metal_c[at])
        for at, step in enumerate(course.steps)
        if MOLTEN_FROM <= share[at] <= MOLTEN_TO
        and np.isfinite(firing.reading_c[step])
        and not np.any((opened <= step) & (opened > step - settle))
    ]
    if len(kept) < LEAST_POINTS:
        return None
    off, read, metal = np.array(kept).T
    return Arrest(
        round(float(off.mean()), 2),
        round(float(off.std()), 2),
        len(kept),
        round(float(read.mean()), 1),
        round(float(metal.mean()), 1),
        firing.charge.solidus_c is not None,
    )
