"""Learning a furnace from ordinary firings: least squares over all of them, held by priors.

Priors carry the first fits: power, losses and the sensor's place are told apart only by several, different firings.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from supervisor.furnace.description import FurnaceDescription
from supervisor.model.learned import LEAST_FIRINGS, WIDENS_PER_FIRING, Model, Spread, parts_digest, spread
from supervisor.model.reduced import FACTORS, SOAK_SD, Reduced, likely_soak
from supervisor.model.series import STEP_S, Dip, Series
from supervisor.model.simulate import LOOK_EVERY, Course, simulate

Floats = NDArray[np.float64]

_READING_K = 4.0  # what residuals are measured by, one a minute; neighbours hang together, ten are worth one
_DIP_K = 1.5  # hence 5 K of a probe dipped by hand, on the same scale
_PRIOR_WEIGHT = 2.0  # a minute's residuals are not independent: this weighs the prior against so many of them
_MASS_SD = 0.06  # of a charge as entered, logarithm
_MAINS_SD = 0.06  # of one firing's power where it is not metered: 3 % of the voltage
_COLD_C = 40.0  # a furnace that starts warmer has a lining whose profile nobody knows
_STEP = 0.02  # for derivatives, in prior standard deviations
_MOST_SD, _MOST_RUNS, _ENOUGH = 4.0, 12, 3e-3  # a fit that wants more wants what no furnace is
_LEAST_SPREAD = 0.25  # of the residuals, in units of what they are measured by: no fit is better than a degree


def learn(furnace: FurnaceDescription, firings: Sequence[Series], before: Model | None = None) -> Model:
    """Fit the model of a furnace to firings, some three to five.

    before: the last fit. If it rests on three firings or more it is what the new one starts from, and may leave by what
    a furnace changes from firing to firing; a lesser one is forgotten, and firings should then be all there are. Mass,
    mains (where not metered) and the warmth of the lining at the start are found along for each firing, and forgotten.

    Raises:
        ValueError: no firings, or none that lasted a minute.
    """
    if before is not None and len(set(before.learned_from)) < LEAST_FIRINGS:
        before = None
    read_c = [firing.reading_c[np.isfinite(firing.reading_c)] for firing in firings if len(firing.t_s) >= LOOK_EVERY]
    readings_c = np.concatenate([np.empty(0), *read_c])
    if not readings_c.size:
        raise ValueError(f"firings are {len(firings)} without a minute of readings; allowed: one with it")
    fit = _Fit(furnace, firings, before)
    found = fit.solve()
    covariance = fit.covariance(found)
    newest = max(firings, key=lambda firing: firing.started_utc_ms)
    earlier = () if before is None else before.learned_from
    return Model(
        log_factors=tuple(fit.factors(found[:, None])[:, 0].tolist()),
        log_sd=tuple(np.sqrt(np.diag(covariance)).tolist()),
        covariance=tuple(map(tuple, covariance.tolist())),
        learned_from=tuple(sorted({*earlier, *(firing.firing_id for firing in firings)})),
        metered=all(firing.metered for firing in firings),
        residual_k=residuals_by_phase([(own.firing, fit.course(own, found[:, None])) for own in fit.owns]),
        low_c=float(readings_c.min()),
        high_c=float(readings_c.max()),
        furnace_digest=parts_digest(furnace),
        made_utc_ms=newest.started_utc_ms + round(1000.0 * float(newest.t_s[-1])),
        power_share=_usual_share(firings, before),
    )


def _usual_share(firings: Sequence[Series], before: Model | None) -> float:
    """Metered over ordered power, the mean of all firings that were learned from."""
    known = () if before is None else before.learned_from
    shares = [firing.power_share for firing in firings if firing.firing_id not in known]
    if before is not None:
        shares += [before.power_share] * len(known)
    return sum(shares) / len(shares) if shares else 1.0


def residuals_by_phase(runs: Iterable[tuple[Series, Course]]) -> Mapping[str, Spread]:
    """Measured less modelled, by what the model's metal is doing at the time; of dip readings the metal's."""
    found: dict[str, list[float]] = {}
    for firing, course in runs:
        for step, reading_c, molten, metal_c in zip(
            course.steps, course.reading_c[:, 0], course.share_molten[:, 0], course.metal_c[:, 0], strict=True
        ):
            residual_k = float(firing.reading_c[step] - reading_c)
            if np.isfinite(residual_k):
                found.setdefault(phase_of(None if np.isnan(metal_c) else molten), []).append(residual_k)
        for dip in firing.dips:
            if np.isfinite(metal_c := course.metal_c[_nearest(course, dip), 0]):
                found.setdefault("dip", []).append(float(dip.metal_c - metal_c))
    return {phase: spread(residuals_k) for phase, residuals_k in found.items()}


def _nearest(course: Course, dip: Dip) -> int:
    """The look at the model that is nearest to a dip reading."""
    return int(np.argmin(np.abs((course.steps + 1) * STEP_S - dip.t_s)))


def phase_of(share_molten: float | None) -> str:
    """What the metal is doing; None: there is none."""
    if share_molten is None:
        return "empty"
    if share_molten < 0.01:
        return "solid"
    return "melting" if share_molten < 0.99 else "liquid"


@dataclass(frozen=True, eq=False)
class _Own:
    """One firing and its own unknowns: where each stands in the whole vector, None where it has no such unknown."""

    firing: Series
    mass: int | None
    mains: int | None
    soak: int | None

    def columns(self) -> list[int]:
        """What this firing depends on."""
        return [*range(len(FACTORS)), *(at for at in (self.mass, self.mains, self.soak) if at is not None)]


class _Fit:
    """Least squares in prior standard deviations: the factors first, then each firing's own unknowns."""

    def __init__(self, furnace: FurnaceDescription, firings: Sequence[Series], before: Model | None) -> None:
        self._at: Floats | None = None  # where it was last looked, and what was seen there
        self._seen: tuple[Floats, Floats] | None = None
        self._model = Reduced(furnace)
        centre, sd = self._model.prior()
        self._centre: Floats = centre[:, None]
        self._sd: Floats = sd[:, None]
        self._unsure: Floats = np.diag(sd**2)
        if before is not None:
            new = {firing.firing_id for firing in firings} - set(before.learned_from)
            changes = WIDENS_PER_FIRING**2 * max(1, len(new))
            self._centre = np.array(before.log_factors)[:, None]
            self._sd[:] = changes**0.5
            self._unsure = np.array(before.covariance) + changes * np.eye(len(FACTORS))
        self.size = len(FACTORS)
        self.owns = [
            _Own(
                firing,
                mass=self._unknown(firing.charge is not None),
                mains=self._unknown(not firing.metered),
                soak=self._unknown(firing.start_c > _COLD_C),
            )
            for firing in firings
        ]

    def _unknown(self, wanted: bool) -> int | None:
        if not wanted:
            return None
        self.size += 1
        return self.size - 1

    def factors(self, z: Floats) -> Floats:
        """Log factors (F, N) of whole vectors (P, N)."""
        factors: Floats = self._centre + self._sd * z[: len(FACTORS)]
        return factors

    def course(self, own: _Own, z: Floats) -> Course:
        """A firing as whole vectors (P, N) have it."""
        return simulate(
            self._model,
            own.firing,
            self.factors(z),
            mass_factor=1.0 if own.mass is None else np.exp(_MASS_SD * z[own.mass]),
            power_factor=1.0 if own.mains is None else np.exp(_MAINS_SD * z[own.mains]),
            soak=None if own.soak is None else likely_soak(own.firing.start_c) + SOAK_SD * z[own.soak],
        )

    def residuals(self, own: _Own, z: Floats) -> Floats:
        """Measured less modelled in units of what it is measured by, (K, N): readings, then dip readings."""
        course, firing = self.course(own, z), own.firing
        residuals = (firing.reading_c[course.steps, None] - course.reading_c) / _READING_K
        dips = [(dip.metal_c - course.metal_c[_nearest(course, dip)]) / _DIP_K for dip in firing.dips]
        whole = np.vstack([residuals, *dips])
        known: Floats = whole[np.isfinite(whole[:, 0])]
        return known

    def look(self, z: Floats) -> tuple[Floats, Floats]:
        """Residuals of all firings and their derivatives, both without the prior: (K,) and (K, P)."""
        if self._seen is None or self._at is None or not np.array_equal(self._at, z):
            values, slopes = [], []
            for own in self.owns:
                columns = own.columns()
                trials = np.repeat(z[:, None], len(columns) + 1, axis=1)
                trials[columns, np.arange(1, len(columns) + 1)] += _STEP
                residuals = self.residuals(own, trials)
                slope = np.zeros((len(residuals), self.size))
                slope[:, columns] = (residuals[:, 1:] - residuals[:, :1]) / _STEP
                values.append(residuals[:, 0])
                slopes.append(slope)
            self._at, self._seen = z.copy(), (np.concatenate(values), np.vstack(slopes))
        return self._seen

    def solve(self) -> Floats:
        """The most likely vector."""
        from scipy.optimize import least_squares  # late: the cycle never needs it

        prior = _PRIOR_WEIGHT * np.eye(self.size)
        found = least_squares(
            lambda z: np.concatenate([self.look(z)[0], _PRIOR_WEIGHT * z]),
            np.zeros(self.size),
            jac=lambda z: np.vstack([self.look(z)[1], prior]),
            bounds=(-_MOST_SD, _MOST_SD),
            ftol=_ENOUGH,
            xtol=_ENOUGH,
            max_nfev=_MOST_RUNS,
        )
        return np.asarray(found.x, dtype=float)

    def covariance(self, z: Floats) -> Floats:
        """Covariance of the log factors found, (F, F): the spread of this very estimator.

        Residuals minute by minute are alike: their variance counts (1 + r) / (1 - r) fold, r being the correlation of
        neighbours. What the start of the fit was unsure of stays where the data say nothing.
        """
        values, slopes = self.look(z)
        alike = float(np.clip(np.corrcoef(values[:-1], values[1:])[0, 1], 0.0, 0.95)) if len(values) > 2 else 0.0
        variance = max(_LEAST_SPREAD**2, float(np.mean(values**2))) * (1.0 + alike) / (1.0 - alike)
        told = slopes.T @ slopes
        known = np.linalg.inv(told + _PRIOR_WEIGHT**2 * np.eye(self.size))
        unsure = np.eye(self.size)
        unsure[: len(FACTORS), : len(FACTORS)] = self._unsure / self._sd / self._sd.T
        whole = known @ (variance * told + _PRIOR_WEIGHT**4 * unsure) @ known
        covariance: Floats = whole[: len(FACTORS), : len(FACTORS)] * self._sd * self._sd.T
        return covariance
