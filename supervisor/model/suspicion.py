"""Missing metal, a hung-up charge, a sensor on its way out: what reading and power together do not account for.

The model runs open loop beside the estimate: with the power given and the mass entered, never corrected. Once learned
it follows a healthy firing closely, and what takes or hides heat shows as a reading that walks away from it.
"""

from collections.abc import Sequence

# How far the reading may be from the open loop while all is solid, and later, K.
_SOLID_OFF_K, _OFF_K = 40.0, 80.0
_UNMETERED = 1.5  # times as much where the power is only what was ordered

LASTS_S = 120.0
"""What is off for so long is said."""

_SETTLES_S = 600.0  # after the start: the reading of a cold furnace says little

SANK_S = 480.0
"""Over so long it is said how far the reading has sunk against the open loop. What the mass or the model has wrong for
good is in both ends; a filter that learns takes a slow drift in, power alone does not."""


def sank_k(offs: Sequence[tuple[float, float]]) -> float | None:
    """How far reading less open loop has changed. offs: times, s, and K, oldest first; None: not over so long."""
    if not offs or offs[-1][0] - offs[0][0] < SANK_S - 5.5:
        return None
    return offs[-1][1] - offs[0][1]


def is_off(off_k: float, elapsed_s: float, *, solid: bool, warm: bool, metered: bool) -> bool:
    """Whether reading less open loop is more than a healthy firing has. warm: the lining was warm at the start."""
    most_k = (_SOLID_OFF_K if solid and not warm else _OFF_K) * (1.0 if metered else _UNMETERED)
    return elapsed_s > _SETTLES_S and abs(off_k) > most_k


def sentence(off_k: float, entered_kg: float, *, solid: bool) -> str:
    """The suspicion with its evidence."""
    where = f"{abs(off_k):.0f} K {'above' if off_k > 0.0 else 'below'} what the power gives with {entered_kg:.2f} kg"
    if off_k < 0.0:
        return f"The reading is {where}: the sensor may be out of place, more metal in the pot, or heat getting lost."
    if solid:
        return f"The reading is {where}: less metal may be in the pot than was entered."
    return f"The reading is {where}: metal may be missing, or hang above the melt and take up no heat."
