"""What a firing will take, reckoned before its start: minutes to pour, energy, cost, and when the gate asks.

The plan is walked by the firing's own setpoint, the chamber follows it as the controller would make it, and the model
says what the metal does. One course is likely; others, a standard deviation off in one quantity each, give the bands.
"""

from dataclasses import asdict, dataclass
from math import exp, inf, isfinite, sqrt
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from supervisor.firing.control import tuning
from supervisor.firing.gate import ASKS_WITHIN_K, limit_of
from supervisor.firing.governor import RULE
from supervisor.firing.profile import Profile, top_hold_c
from supervisor.firing.setpoint import advance, begin
from supervisor.furnace.description import FurnaceDescription, Tariff
from supervisor.furnace.reckoning import ROOM_C
from supervisor.metal.enthalpy import enthalpy_j_kg
from supervisor.model.learned import Model
from supervisor.model.melting import Melting, melting
from supervisor.model.reduced import FACTORS, LOWER, Reduced

Floats = NDArray[np.float64]

STEP_S = 15.0
LONGEST_S = 12 * 3600.0

MASS_SD = 0.03  # of the logarithm of the mass: a kitchen scale, a lid's drips (our choice)
MAINS_SD = 0.015  # of the logarithm of the voltage, from what it is now to what it will be (our choice)
SOAK, SOAK_SD = 0.5, 0.3  # how far a warm lining has warmed through: see Reduced.settled
WARM_C = 60.0
FORM_SD_LEARNED, FORM_SD = 0.03, 0.05
"""Of the logarithm of the minutes: what even the best factors leave, learned and from data sheets (tried on simulated
furnaces)."""

BEHIND_K = 20.0
"""How far the governor's metal, the upper edge of an estimate, is above the likely one."""
Z90 = 1.645


class Span(NamedTuple):
    """Minutes: likely, and a band that nine of ten firings should come to lie in."""

    likely: float
    low: float
    high: float


class GateAsks(NamedTuple):
    """Minutes after the start: one firing in twenty should ask earlier than `early`."""

    likely: float
    early: float


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
    """Reckon a firing that starts now. Deterministic, some tens of milliseconds.

    model: learned, or None for the data sheets. reading_c: of the chamber at the start; charge_c: of the charge then.
    mains_factor: today's voltage over nominal. cap_c: how hot the chamber may be made for cold metal; None: the profile
    alone moves it.

    Raises:
        ValueError: a number that cannot be.
    """
    for name, value, least, most in (
        ("reading_c", reading_c, -40.0, 1400.0),
        ("charge_c", charge_c, -40.0, 1400.0),
        ("mains_factor", mains_factor, 0.5, 1.5),
    ):
        if not least <= value <= most:
            raise ValueError(f"{name} is {value}; allowed: {least:g} to {most:g}")
    points = _points(furnace, model, reading_c)
    found = _Course(furnace, profile, points, reading_c, charge_c, mains_factor, cap_c).run()
    form = FORM_SD if model is None else FORM_SD_LEARNED
    minutes = _span(found.pour_min, form)
    gate = _span(found.gate_min, form)
    kwh = float(found.kwh[0])
    return Forecast(
        minutes,
        None if gate is None else GateAsks(gate.likely, gate.low),
        kwh,
        None if tariff is None else kwh * tariff.per_kwh,
        None if tariff is None else tariff.currency,
        model is not None,
    )


class _Points(NamedTuple):
    """Courses side by side: the likely one first, then pairs to either side of it. Each (N,), factors (F, N)."""

    reduced: Reduced
    factors: Floats
    mass: Floats
    mains: Floats
    soak: Floats


def _points(furnace: FurnaceDescription, model: Model | None, reading_c: float) -> _Points:
    reduced = Reduced(furnace)
    centre, sd = reduced.prior()
    root = np.diag(sd)
    if model is not None:
        centre = np.array(model.log_factors)
        # Principal axes: a model's factors are known jointly far better than one by one.
        variances, axes = np.linalg.eigh(np.array(model.covariance))
        root = axes * np.sqrt(np.maximum(variances, 0.0))
    beside = [("mass", MASS_SD), ("mains", MAINS_SD)] + ([("soak", SOAK_SD)] if reading_c > WARM_C else [])
    count = 1 + 2 * (len(FACTORS) + len(beside))
    factors = np.repeat(centre[:, None], count, axis=1)
    factors[:, 1 : 1 + len(FACTORS)] += root
    factors[:, 1 + len(FACTORS) : 1 + 2 * len(FACTORS)] -= root
    moved = {"mass": np.zeros(count), "mains": np.zeros(count), "soak": np.zeros(count)}
    for number, (name, off) in enumerate(beside):
        at = 1 + 2 * (len(FACTORS) + number)
        moved[name][at : at + 2] = off, -off
    soak = np.full(count, SOAK) + moved["soak"]
    # Pairs side by side, so that one rule reads them all: plus, minus, plus, minus.
    order = [0, *(n + side for n in range(1, 1 + len(FACTORS)) for side in (0, len(FACTORS)))]
    order += list(range(1 + 2 * len(FACTORS), count))
    return _Points(reduced, factors[:, order], np.exp(moved["mass"]), np.exp(moved["mains"]), soak)


def _span(minutes: Floats, form_sd: float) -> Span | None:
    """The likely value and its band, by the differences of each pair; None when the likely course never comes there."""
    likely = float(minutes[0])
    if not isfinite(likely) or likely <= 0.0:
        return None
    logs = np.log(np.minimum(minutes, LONGEST_S / 60.0))
    apart = (logs[1::2] - logs[2::2]) / 2.0
    sd = sqrt(float(apart @ apart) + form_sd**2)
    return Span(likely, likely * exp(-Z90 * sd), likely * exp(Z90 * sd))


class _Found(NamedTuple):
    """What each course came to, (N,); minutes are infinite where it did not."""

    pour_min: Floats
    gate_min: Floats
    kwh: Floats


class _Course:
    """All courses of one firing, step by step."""

    def __init__(
        self,
        furnace: FurnaceDescription,
        profile: Profile,
        points: _Points,
        reading_c: float,
        charge_c: float,
        mains_factor: float,
        cap_c: float | None,
    ) -> None:
        self._points, self._profile, self._cap_c = points, profile, cap_c
        self._metal: Melting | None = None if profile.charge is None else melting(profile.charge)
        self._mass_kg = points.mass * (0.0 if profile.charge is None else profile.charge.mass_kg)
        count = points.mass.size
        self._x = points.reduced.settled(reading_c, count, points.soak)
        self._x[LOWER:] = enthalpy_j_kg(charge_c) if self._metal is None else self._metal.enthalpy_j_kg(charge_c)
        self._walks = [begin(profile, reading_c) for _ in range(count)]
        self._full_w = furnace.full_power_w * (mains_factor * points.mains) ** 2
        self._tuning = tuning(furnace)
        self._integral = np.zeros(count)
        self._boost_ended = np.zeros(count, dtype=bool)
        self._moved_k = np.zeros(count)  # from the plan's setpoint to the chamber's
        self._target_c = top_hold_c(profile)

    def run(self) -> _Found:
        count = self._mass_kg.size
        pour_min, gate_min, wh = np.full(count, inf), np.full(count, inf), np.zeros(count)
        limit_c, pour_c = limit_of(self._profile.charge), self._profile.pour_c
        ends_s = min(self._profile.longest_s, LONGEST_S)
        reading_c = self._points.reduced.reading_c(self._x, self._points.factors)
        for step in range(1, int(ends_s / STEP_S) + 1):
            if pour_c is not None and self._metal is not None and np.isfinite(pour_min).all():
                break
            going = np.array([not walk.done for walk in self._walks])
            if not going.any():
                break
            power_w = self._power_w(reading_c) * going
            before_c, before_cold_c = reading_c, self._coldest_c()
            self._x = self._points.reduced.step(
                self._x, self._points.factors, power_w=power_w, lid_open=False, mass_kg=self._mass_kg,
                metal=self._metal, dt_s=STEP_S, longest_s=STEP_S,
            )  # fmt: skip
            reading_c = self._points.reduced.reading_c(self._x, self._points.factors)
            wh += np.where(np.isfinite(pour_min), 0.0, power_w * (STEP_S / 3600.0))
            if limit_c is not None:
                _passed(gate_min, step, before_c, reading_c, limit_c - ASKS_WITHIN_K)
            if pour_c is not None and before_cold_c is not None:
                _passed(pour_min, step, before_cold_c, self._coldest_c(), pour_c)
        return _Found(pour_min, gate_min, wh / 1000.0)

    def _coldest_c(self) -> Floats | None:
        return None if self._metal is None else self._points.reduced.coldest_c(self._x, self._metal)

    def _power_w(self, reading_c: Floats) -> Floats:
        """What the controller gives: PI with back-calculation, as supervisor.firing.control, in longer steps."""
        setpoint_c = np.empty(reading_c.size)
        for number, walk in enumerate(self._walks):
            advance(walk, STEP_S, float(reading_c[number]), inf)
            setpoint_c[number] = walk.setpoint_c
        setpoint_c = self._governed(setpoint_c)
        of = self._tuning
        expected = np.interp(setpoint_c / 100.0, np.arange(len(of.loss_duty)), of.loss_duty)
        error_k = setpoint_c - reading_c
        wanted = expected + of.gain_per_k * error_k + self._integral
        given = np.minimum(np.maximum(wanted, 0.0), 1.0)
        self._integral += of.gain_per_k * error_k * (STEP_S / of.integral_s)
        self._integral += (given - wanted) * (STEP_S / of.tracking_s)
        np.clip(self._integral, -1.0, 1.0, out=self._integral)
        power_w: Floats = given * self._full_w
        return power_w

    def _governed(self, setpoint_c: Floats) -> Floats:
        """The boost, where the plan has come to the metal's target: see supervisor.firing.governor and boosting."""
        if self._cap_c is None or self._metal is None or self._cap_c <= self._target_c:
            return setpoint_c
        upper_c = self._points.reduced.metal_c(self._x, self._metal) + BEHIND_K
        self._boost_ended |= upper_c >= self._target_c - RULE.near_target_k
        wanted_c = self._target_c + RULE.gain * (self._target_c - upper_c)
        boosted_c = np.clip(wanted_c, self._target_c, self._cap_c)
        settles_c = np.clip(wanted_c, self._target_c - RULE.below_target_k, self._target_c)
        at_target = setpoint_c >= self._target_c
        moved_k = np.where(at_target, np.where(self._boost_ended, settles_c, boosted_c) - setpoint_c, 0.0)
        rates_c_per_s = np.array([walk.rate_c_per_s for walk in self._walks])
        self._moved_k = np.minimum(moved_k, self._moved_k + rates_c_per_s * STEP_S)
        return setpoint_c + self._moved_k


def _passed(minutes: Floats, step: int, before_c: Floats, now_c: Floats | None, level_c: float) -> None:
    """Note when a level was first reached, between two steps by their share."""
    assert now_c is not None
    first = (now_c >= level_c) & ~np.isfinite(minutes)
    if not first.any():
        return
    share = np.clip((level_c - before_c) / np.maximum(now_c - before_c, 1e-9), 0.0, 1.0)
    minutes[first] = ((step - 1 + share) * (STEP_S / 60.0))[first]
