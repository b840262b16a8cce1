"""What a firing will take, reckoned before its start: minutes to pour, energy, cost, and when the gate asks.

One course is likely; others, a standard deviation off in one quantity each, give the bands.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from math import exp, isfinite, sqrt
from typing import Any, NamedTuple

import numpy as np

from supervisor.firing.profile import Profile
from supervisor.furnace.description import FurnaceDescription, Tariff
from supervisor.furnace.reckoning import ROOM_C
from supervisor.model.courses import LONGEST_S, Beside, Courses, Floats, Start, points
from supervisor.model.learned import Model

FORM_SD_LEARNED, FORM_SD = 0.03, 0.05
"""Of the logarithm of the minutes: what even the best factors leave, learned and from data sheets (tried on simulated
furnaces)."""

Z90 = 1.645
ALL = 10**6  # more steps than any firing has


class Span(NamedTuple):
    """Minutes: likely, and a band that nine of ten firings should come to lie in."""

    likely: float
    low: float
    high: float


class GateAsks(NamedTuple):
    """Minutes after the start: one firing in twenty should ask earlier than `early`."""

    likely: float
    early: float


class Likely(NamedTuple):
    """Of a course of its own: minutes to the pouring temperature, None: it does not get there; energy."""

    minutes: float | None
    kwh: float


@dataclass(frozen=True, slots=True)
class Forecast:
    """A firing, from its start to the pouring temperature, without waiting for anybody."""

    minutes: Span | None  # to the pouring temperature; None: no metal, or the plan does not get there
    gate_asks_min: GateAsks | None  # None: there is no gate, or the chamber does not get there
    kwh: float  # by the likely minutes; without them to the end of the plan
    cost: float | None
    currency: str | None
    learned: bool  # from firings of this furnace; else from data sheets, and the bands are wide

    def as_object(self) -> dict[str, Any]:
        """Plain values for JSON."""
        plain = asdict(self)
        plain["minutes"] = None if self.minutes is None else self.minutes._asdict()
        plain["gate_asks_min"] = None if self.gate_asks_min is None else self.gate_asks_min._asdict()
        return plain


class Forecasting:
    """A forecast in the making, a few steps at a time: `go_on` until it is True, then `found`, and `beside`.

    What it is made of is that of `forecast`; beside: courses of their own that are reckoned with it.
    """

    def __init__(
        self,
        furnace: FurnaceDescription,
        model: Model | None,
        profile: Profile,
        start: Start,
        *,
        tariff: Tariff | None = None,
        beside: Sequence[Beside] = (),
    ) -> None:
        for name, value, least, most in (
            ("reading_c", start.reading_c, -40.0, 1400.0),
            ("charge_c", start.charge_c, -40.0, 1400.0),
            ("mains_factor", start.mains_factor, 0.5, 1.5),
        ):
            if not least <= value <= most:
                raise ValueError(f"{name} is {value}; allowed: {least:g} to {most:g}")
        self._learned, self._tariff = model is not None, tariff
        of = points(furnace, model, start.reading_c, beside)
        self._banded = of.banded
        self._courses = Courses(furnace, profile, of, start)

    def go_on(self, steps: int) -> bool:
        """So many steps further; True when it is done. A step is a quarter minute of the firing."""
        return self._courses.go_on(steps)

    @property
    def found(self) -> Forecast:
        """The forecast, once it is done."""
        courses, banded, tariff = self._courses, self._banded, self._tariff
        form = FORM_SD_LEARNED if self._learned else FORM_SD
        minutes, gate = _span(courses.pour_min[:banded], form), _span(courses.gate_min[:banded], form)
        kwh = float(courses.kwh[0])
        return Forecast(
            minutes,
            None if gate is None else GateAsks(gate.likely, gate.low),
            kwh,
            None if tariff is None else kwh * tariff.per_kwh,
            None if tariff is None else tariff.currency,
            self._learned,
        )

    @property
    def beside(self) -> list[Likely]:
        """What each course of its own came to, once it is done."""
        courses, banded = self._courses, self._banded
        return [
            Likely(float(minutes) if isfinite(minutes) and minutes > 0.0 else None, float(kwh))
            for minutes, kwh in zip(courses.pour_min[banded:], courses.kwh[banded:], strict=True)
        ]


def forecast(
    furnace: FurnaceDescription,
    model: Model | None,
    profile: Profile,
    *,
    reading_c: float = ROOM_C,
    charge_c: float = ROOM_C,
    mains_factor: float = 1.0,
    cap_c: float | None = None,
    tariff: Tariff | None = None,
) -> Forecast:
    """Reckon a firing that starts now. Deterministic, a tenth of a second for each half hour of it.

    model: learned, or None for the data sheets. reading_c: of the chamber at the start; charge_c: of the charge then.
    mains_factor: today's voltage over nominal. cap_c: how hot the chamber may be made for cold metal; None: the profile
    alone moves it.

    Raises:
        ValueError: a number that cannot be.
    """
    start = Start(reading_c, charge_c, mains_factor, cap_c)
    making = Forecasting(furnace, model, profile, start, tariff=tariff)
    making.go_on(ALL)
    return making.found


def _span(minutes: Floats, form_sd: float) -> Span | None:
    """The likely value and its band, by the differences of each pair; None when the likely course never comes there."""
    likely = float(minutes[0])
    if not isfinite(likely) or likely <= 0.0:
        return None
    logs = np.log(np.minimum(minutes, LONGEST_S / 60.0))
    apart = (logs[1::2] - logs[2::2]) / 2.0
    sd = sqrt(float(apart @ apart) + form_sd**2)
    return Span(likely, likely * exp(-Z90 * sd), likely * exp(Z90 * sd))
