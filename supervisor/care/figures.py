"""What one firing says of the furnace itself: the figures that trends and forecasts are made of.

What comes from the firing's closing record is read there; what costs seconds (the arrest against the model) is reckoned
once, by `keeping`, and kept in the book.
"""

from collections.abc import Iterable
from typing import NamedTuple

from supervisor.care.element import Element


class Figures(NamedTuple):
    """One firing. None: nobody knows."""

    firing_id: int
    utc_ms: int  # its start
    metal: bool
    hours: float
    hours_over_660: float | None  # of the sensor
    peak_c: float | None
    element: Element | None
    sensor_offset_k: float | None  # reading less what the model expects of it, while known metal melts
    sensor_offset_sd_k: float | None
    dip_offset_k: float | None  # metal by dip less metal by the estimate, mean of the firing's dips
    relay_operations: int | None
    contactor_operations: int | None

    @property
    def power_w(self) -> float | None:
        """Power with the relay on all the time, W, as metered: mains and age are both in it."""
        return None if self.element is None else self.element.power_w

    @property
    def element_ohm(self) -> float | None:
        """Hot resistance with mains removed; None where nobody read the voltage."""
        return None if self.element is None else self.element.ohm


def total(values: Iterable[float | None]) -> float:
    """Sum of what is known."""
    return sum(value for value in values if value is not None)
