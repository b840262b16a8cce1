"""What switches the element: figures for the licensed person to look at. Rules of the trade, most without a source."""

from typing import NamedTuple

SSR_LOSS_W_A = 1.2
"""A solid-state relay heats itself by 1.0 to 1.5 W for each ampere (a relay maker's note)."""

SSR_OVER_LOAD, CONTACTOR_OVER_LOAD = 2.0, 1.5
"""Ratings over the largest load current, as docs/wiring.md has them (common practice, no source)."""

BASE_C, CABINET_C = 80.0, 45.0
"""Base plate at most (a power controller maker's note); air in the cabinet (ours)."""


class Switching(NamedTuple):
    """Least ratings, and the heat sink that the relay needs."""

    ssr_a: float
    ssr_loss_w: float
    heat_sink_k_w: float
    contactor_ac1_a: float


def switching(load_a: float) -> Switching:
    """For the largest current that the element draws."""
    loss_w = SSR_LOSS_W_A * load_a
    return Switching(SSR_OVER_LOAD * load_a, loss_w, (BASE_C - CABINET_C) / loss_w, CONTACTOR_OVER_LOAD * load_a)
