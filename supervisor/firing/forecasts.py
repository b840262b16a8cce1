"""What is forecast of a firing when it is prepared, and the limits that boost and allowance take from it.

Never more than by the first model of this furnace: what was learned later loosens nothing. A little in each cycle: all
of it at once would make a small computer late.
"""

from contextlib import suppress
from typing import NamedTuple

from supervisor.firing.follow import CANNOT
from supervisor.firing.profile import Profile
from supervisor.furnace.description import FurnaceDescription
from supervisor.model.courses import Beside, Start
from supervisor.model.forecast import Forecast, Forecasting
from supervisor.model.learned import Model

LIGHTER = 0.85
"""The boost may have the energy of so much of the entered mass: a charge lighter than entered ends it in time."""


class Forecasts(NamedTuple):
    """The forecast, energy and minutes that bound a boost, and the energy by the first model; None: not known."""

    forecast: Forecast | None = None
    boost_wh: float | None = None
    boost_minutes: float | None = None
    first_kwh: float | None = None


class Forecaster:
    """One forecast with its limits in the making: `go_on` until it is True, then `found`."""

    def __init__(
        self,
        furnace: FurnaceDescription,
        profile: Profile,
        start: Start,
        model: Model | None,
        first: Model | None,
        *,
        bounds: bool,
    ) -> None:
        """With the firing's model. first: the commissioning's, where it is another one; bounds: those as well."""
        self.found = Forecasts()
        self._bounds = bounds
        self._firsts = [Beside(first, 1.0)] if bounds and first is not None else []
        models = [model] if first is None else [model, first]
        lighter = bounds and profile.charge is not None
        self._lighter = [Beside(each, LIGHTER) for each in models] if lighter else []
        beside = [*self._firsts, *self._lighter]
        self._making: Forecasting | None = None
        with suppress(*CANNOT):  # nothing is known then: no boost, and the allowance of the data sheets
            self._making = Forecasting(furnace, model, profile, start, tariff=furnace.tariff, beside=beside)

    def go_on(self, steps: int) -> bool:
        """So many steps further; True when it is done."""
        if self._making is None:
            return True
        with suppress(*CANNOT):
            if not self._making.go_on(steps):
                return False
            self.found = self._limits(self._making)
        self._making = None
        return True

    def _limits(self, done: Forecasting) -> Forecasts:
        likely, beside = done.found, done.beside
        if not self._bounds:
            return Forecasts(likely)
        firsts, lighter = beside[: len(self._firsts)], beside[len(self._firsts) :]
        own = None if likely.minutes is None else likely.minutes.likely
        return Forecasts(
            likely,
            min((1000.0 * each.kwh for each in lighter), default=None),
            _least(own, *(each.minutes for each in firsts)),
            min((each.kwh for each in firsts), default=None),
        )


def _least(*limits: float | None) -> float | None:
    """The tightest; None where one of them cannot be said."""
    known = [limit for limit in limits if limit is not None]
    return min(known) if len(known) == len(limits) else None
