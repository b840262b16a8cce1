"""Simulated lives of an element, as its signature of each firing: what the record of a firing says, nothing flown.

The ageing here is drawn otherwise than the forecast believes: in uneven steps, by a power of its own.
"""

from random import Random
from typing import NamedTuple

from supervisor.care.element import Element
from supervisor.care.figures import Figures

CHANGE = 0.20


class Life(NamedTuple):
    """One element: growth after each firing, until it is to be changed; and what was measured."""

    grown: list[float]
    figures: list[Figures]


def life(seed: int, *, read_share: float = 1.0) -> Life:
    """Draw a life. read_share: in so many of its firings somebody read the voltage."""
    random = Random(f"{seed} life")
    firings, power = 30.0 * 10.0 ** random.uniform(0.0, 1.0), random.uniform(0.7, 2.2)
    cold_ohm, mains_sd = random.uniform(10.0, 40.0), random.uniform(0.01, 0.04)
    grown: list[float] = []
    at, number = 0.0, 0
    while at < CHANGE:
        number += 1
        step = CHANGE * ((number / firings) ** power - ((number - 1) / firings) ** power)
        at += step * random.gammavariate(2.0, 0.5)
        grown.append(at)
    figures = [
        figure(number, cold_ohm * (1.0 + share), random.gauss(1.0, mains_sd), random, read=random.random() < read_share)
        for number, share in enumerate(grown, start=1)
    ]
    return Life(grown, figures)


def figure(number: int, ohm: float, mains: float, random: Random, *, read: bool, nominal_v: float = 230.0) -> Figures:
    """What the record of one firing says of an element of so many ohms (hot) on such mains."""
    volt = nominal_v * mains
    power_w = volt**2 / (ohm * random.gauss(1.0, 0.004)) * random.gauss(1.0, 0.002)
    seen_v = volt * random.gauss(1.0, 0.008) * random.gauss(1.0, 0.006)
    element = Element(
        power_w, nominal_v**2 / power_w, seen_v**2 / power_w if read else None, seen_v if read else None,
        0.02 if read else 0.001,
    )  # fmt: skip
    return Figures(number, number * 86_400_000, True, 2.0, 1.0, 780.0, element, None, None, None, 300, 2)
