"""Courses of one firing side by side, reckoned ahead before its start: the likely one, others beside it for the bands.

The plan is walked by the firing's own setpoint, the chamber follows it as the controller would make it, and the model
says what the metal does. In pieces: some hundred steps are too long for one cycle on a small computer.
"""

from collections.abc import Sequence
from math import inf
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from supervisor.firing.control import tuning
from supervisor.firing.gate import ASKS_WITHIN_K, limit_of
from supervisor.firing.governor import RULE
from supervisor.firing.profile import Profile, top_hold_c
from supervisor.firing.setpoint import advance, begin
from supervisor.furnace.description import FurnaceDescription
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

BEHIND_K = 20.0
"""How far the governor's metal, the upper edge of an estimate, is above the likely one."""


class Beside(NamedTuple):
    """A course of its own, without a band: by this model, with so much of the mass."""

    model: Model | None
    mass: float


class Points(NamedTuple):
    """Courses side by side: the likely one first, then pairs to either side of it. Each (N,), factors (F, N).

    banded: so many of them are likely one and pairs; what follows are courses of their own.
    """

    reduced: Reduced
    factors: Floats
    mass: Floats
    mains: Floats
    soak: Floats
    banded: int


def points(furnace: FurnaceDescription, model: Model | None, reading_c: float, beside: Sequence[Beside] = ()) -> Points:
    """What each course is reckoned with. reading_c: of the chamber at the start."""
    reduced = Reduced(furnace)
    centre, sd = reduced.prior()
    own = [centre if each.model is None else np.array(each.model.log_factors) for each in beside]
    root = np.diag(sd)
    if model is not None:
        centre = np.array(model.log_factors)
        # Principal axes: a model's factors are known jointly far better than one by one.
        variances, axes = np.linalg.eigh(np.array(model.covariance))
        root = axes * np.sqrt(np.maximum(variances, 0.0))
    moves = [("mass", MASS_SD), ("mains", MAINS_SD)] + ([("soak", SOAK_SD)] if reading_c > WARM_C else [])
    banded = 1 + 2 * (len(FACTORS) + len(moves))
    factors = np.repeat(centre[:, None], banded, axis=1)
    factors[:, 1 : 1 + 2 * len(FACTORS) : 2] += root  # pairs side by side: plus, minus, plus, minus
    factors[:, 2 : 2 + 2 * len(FACTORS) : 2] -= root
    count = banded + len(beside)
    moved = {"mass": np.zeros(count), "mains": np.zeros(count), "soak": np.zeros(count)}
    for number, (name, off) in enumerate(moves):
        at = 1 + 2 * (len(FACTORS) + number)
        moved[name][at : at + 2] = off, -off
    mass = np.exp(moved["mass"])
    mass[banded:] = [each.mass for each in beside]
    factors = np.column_stack([factors, *own])
    return Points(reduced, factors, mass, np.exp(moved["mains"]), SOAK + moved["soak"], banded)


class Start(NamedTuple):
    """Where a firing begins; mains_factor: today's voltage over nominal. cap_c: of the boost, None: there is none."""

    reading_c: float = ROOM_C
    charge_c: float = ROOM_C
    mains_factor: float = 1.0
    cap_c: float | None = None


class Courses:
    """All courses of one firing, step by step. `go_on` until it is True; then, for each, (N,):

    pour_min, gate_min: minutes to the pouring temperature and to where the gate asks, infinite where it did not get
    there; kwh: used by the pour, without one to the plan's end.
    """

    def __init__(self, furnace: FurnaceDescription, profile: Profile, of: Points, start: Start) -> None:
        self._points, self._profile, self._cap_c = of, profile, start.cap_c
        self._metal: Melting | None = None if profile.charge is None else melting(profile.charge)
        self._mass_kg = of.mass * (0.0 if profile.charge is None else profile.charge.mass_kg)
        count = of.mass.size
        self._x, self._by = of.reduced.settled(start.reading_c, count, of.soak), of.reduced.applied(of.factors)
        charge_c = start.charge_c
        self._x[LOWER:] = enthalpy_j_kg(charge_c) if self._metal is None else self._metal.enthalpy_j_kg(charge_c)
        self._reading_c = of.reduced.reading_c(self._x)
        self._walks = [begin(profile, start.reading_c) for _ in range(count)]
        self._full_w = furnace.full_power_w * (start.mains_factor * of.mains) ** 2
        self._tuning = tuning(furnace)
        self._integral = np.zeros(count)
        self._boost_ended = np.zeros(count, dtype=bool)
        self._moved_k = np.zeros(count)  # from the plan's setpoint to the chamber's
        self._target_c = top_hold_c(profile)
        self._limit_c = limit_of(profile.charge)
        self._step, self._steps = 0, int(min(profile.longest_s, LONGEST_S) / STEP_S)
        self.pour_min, self.gate_min, self.kwh = np.full(count, inf), np.full(count, inf), np.zeros(count)

    def go_on(self, steps: int) -> bool:
        """Reckon so many steps further; True when it is done."""
        for _ in range(steps):
            if self._done():
                return True
            self._go()
        return self._done()

    def _done(self) -> bool:
        poured = self._profile.pour_c is not None and self._metal is not None and np.isfinite(self.pour_min).all()
        return bool(poured) or self._step >= self._steps or all(walk.done for walk in self._walks)

    def _go(self) -> None:
        self._step += 1
        of, pour_c = self._points, self._profile.pour_c
        going = np.array([not walk.done for walk in self._walks])
        power_w = self._power_w(self._reading_c) * going
        before_c, before_cold_c = self._reading_c, self._coldest_c()
        self._x = of.reduced.step(
            self._x, self._by, power_w=power_w, lid_open=False, mass_kg=self._mass_kg,
            metal=self._metal, dt_s=STEP_S, longest_s=STEP_S,
        )  # fmt: skip
        self._reading_c = of.reduced.reading_c(self._x)
        self.kwh += np.where(np.isfinite(self.pour_min), 0.0, power_w * (STEP_S / 3.6e6))
        if self._limit_c is not None:
            _passed(self.gate_min, self._step, before_c, self._reading_c, self._limit_c - ASKS_WITHIN_K)
        if pour_c is not None and before_cold_c is not None:
            _passed(self.pour_min, self._step, before_cold_c, self._coldest_c(), pour_c)

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
