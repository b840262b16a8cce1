"""What one firing says of the furnace itself: the figures that trends and forecasts are made of.

Everything here comes from the firing's closing record; what costs seconds (the arrest against the model) is reckoned
once, by `keeping`, and kept in the book.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from supervisor.care.element import Element, VoltRead, element_of
from supervisor.furnace.description import FurnaceDescription


class Figures(NamedTuple):
    """One firing. None: nobody knows."""

    firing_id: int
    utc_ms: int  # its start
    metal: bool
    hours: float
    hours_over_650: float | None  # of the sensor
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


def figures_of(
    firing: Any,
    frozen: Mapping[str, Any],
    furnace: FurnaceDescription,
    *,
    read: Sequence[VoltRead] = (),
    kept: Mapping[str, Any] | None = None,
) -> Figures:
    """Figures of one closed firing, without a look at its samples.

    firing: `supervisor.logbook.reading.Firing`. frozen: what its start froze. read: voltages that somebody read in it.
    kept: what `keeping` reckoned of it, as the book has it; without it those figures are None.
    """
    kept, results = kept or {}, firing.results
    ohm, sd = kept.get("ohm"), kept.get("ohm_sd")
    element = element_of(results, furnace, read)
    if element is not None and ohm is not None and sd is not None:
        element = element._replace(ohm=ohm, sd=sd, volt=kept.get("volt"))
    over = kept.get("hours_over_650", results.get("seconds_over_650"))
    return Figures(
        firing.id,
        firing.started_utc_ms,
        frozen.get("charge") is not None,
        (firing.lasted_s or 0.0) / 3600.0,
        over if "hours_over_650" in kept or over is None else over / 3600.0,
        firing.peak_c,
        element,
        kept.get("sensor_offset_k"),
        kept.get("sensor_offset_sd_k"),
        kept.get("dip_offset_k"),
        results.get("relay_operations", kept.get("relay_operations")),
        results.get("contactor_operations", kept.get("contactor_operations")),
    )


def total(values: Iterable[float | None]) -> float:
    """Sum of what is known."""
    return sum(value for value in values if value is not None)
