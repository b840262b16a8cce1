"""What is forecast of a firing when it is prepared, and the limits that boost and allowance take from it.

Never more than by the first model of this furnace: what was learned later loosens nothing.
"""

from dataclasses import replace
from typing import NamedTuple

from supervisor.firing.follow import CANNOT
from supervisor.firing.profile import Profile
from supervisor.furnace.description import FurnaceDescription
from supervisor.model.forecast import Forecast, forecast
from supervisor.model.learned import Model

LIGHTER = 0.85
"""The boost may have the energy of so much of the entered mass: a charge lighter than entered ends it in time."""


class Ask(NamedTuple):
    """What is forecast. mains: today's voltage over nominal; cap_c: of a boost, None: there is none."""

    furnace: FurnaceDescription
    profile: Profile
    reading_c: float
    mains: float
    cap_c: float | None


class Forecasts(NamedTuple):
    """The forecast, energy and minutes that bound a boost, and the energy by the first model; None: not known."""

    forecast: Forecast | None
    boost_wh: float | None
    boost_minutes: float | None
    first_kwh: float | None


def forecasts(ask: Ask, model: Model | None, first: Model | None, *, bounds: bool) -> Forecasts:
    """Forecast with the firing's model. first: the commissioning's, where it is another one; bounds: those as well."""
    likely = _forecast(ask, model)
    if not bounds:
        return Forecasts(likely, None, None, None)
    of_first = likely if first is None else _forecast(ask, first)
    minutes = _least(_minutes(likely), _minutes(of_first))
    first_kwh = None if first is None or of_first is None else of_first.kwh
    charge = ask.profile.charge
    if charge is None:
        return Forecasts(likely, None, minutes, first_kwh)
    lighter = replace(ask.profile, charge=replace(charge, mass_kg=LIGHTER * charge.mass_kg))
    models = [model] if first is None else [model, first]
    less = [_forecast(ask._replace(profile=lighter), each) for each in models]
    boost_wh = _least(*(None if one is None else 1000.0 * one.kwh for one in less))
    return Forecasts(likely, boost_wh, minutes, first_kwh)


def _forecast(ask: Ask, model: Model | None) -> Forecast | None:
    try:
        return forecast(
            ask.furnace,
            model,
            ask.profile,
            reading_c=ask.reading_c,
            mains_factor=ask.mains,
            cap_c=ask.cap_c,
            tariff=ask.furnace.tariff,
        )
    except CANNOT:
        return None


def _minutes(of: Forecast | None) -> float | None:
    return None if of is None or of.minutes is None else of.minutes.likely


def _least(*limits: float | None) -> float | None:
    """The tightest; None where one of them cannot be said."""
    known = [limit for limit in limits if limit is not None]
    return min(known) if len(known) == len(limits) else None
