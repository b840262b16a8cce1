"""A cubature Kalman filter, with quantities that are considered but never learned.

A belief is a mean and a covariance. It is carried on by 2n equally weighted points and corrected by what was measured.
Sources: Arasaratnam, I. and Haykin, S. (2009), Cubature Kalman filters, IEEE Transactions on Automatic Control 54,
1254-1269 (points and weights); Schmidt, S. F. (1966), Application of state-space methods to navigation problems,
Advances in Control Systems 3, 293-340 (what is considered); both from memory.
"""

from collections.abc import Sequence
from math import erfc, exp, isfinite, pi, sqrt
from typing import NamedTuple

import numpy as np
from numpy.linalg import LinAlgError
from numpy.typing import NDArray

Array = NDArray[np.float64]

_JITTER = 1e-12  # of the largest variances, raised until the root exists
_MOST_JITTER = 1e-2


class Belief(NamedTuple):
    """What is believed of n quantities: their mean (n,) and covariance (n, n)."""

    mean: Array
    covariance: Array


class Correction(NamedTuple):
    """A corrected belief, and the innovation that corrected it: measured less expected, and its expected variance."""

    belief: Belief
    innovation: float
    variance: float


def root(covariance: Array) -> Array:
    """A lower triangular matrix whose product with its transpose is the covariance, (n, n).

    A covariance that rounding made indefinite gets a share of its own variances on the diagonal, as little as will do.

    Raises:
        LinAlgError: it is no covariance, not even nearly, or not finite.
    """
    if not isfinite(np.add.reduce(covariance, axis=None)):  # numpy gives a root of it all the same
        raise LinAlgError("the covariance is not finite")
    try:
        return _lower(covariance)
    except LinAlgError:
        pass  # rounding, most likely
    variances = np.maximum(np.diag(covariance), 0.0)
    variances = variances + 1e-12 * variances.max() + 1e-18
    share = _JITTER
    while share <= _MOST_JITTER:
        try:
            return _lower(covariance + np.diag(share * variances))
        except LinAlgError:
            share *= 100.0
    raise LinAlgError("the covariance is not nearly positive definite")


def _lower(covariance: Array) -> Array:
    return np.asarray(np.linalg.cholesky(covariance), dtype=np.float64)


def points_of(belief: Belief) -> Array:
    """The 2n points of a belief, equally weighted, (n, 2n): mean ± sqrt(n) times the columns of the root."""
    count = belief.mean.size
    offsets = root(belief.covariance)
    offsets *= sqrt(count)
    points = np.empty((count, 2 * count))
    np.add(belief.mean[:, None], offsets, out=points[:, :count])
    np.subtract(belief.mean[:, None], offsets, out=points[:, count:])
    return points


def belief_of(points: Array, noise: Array) -> Belief:
    """Mean and covariance of points that were carried on, with the variances of what disturbed them meanwhile, (n,)."""
    count = points.shape[1]
    mean: Array = np.add.reduce(points, axis=1)
    mean /= count
    apart = points - mean[:, None]
    covariance = apart @ apart.T
    covariance /= count
    variances = covariance.reshape(-1)[:: mean.size + 1]
    variances += noise
    return Belief(mean, covariance)


def corrected_sum(belief: Belief, rows: Sequence[int], measured: float, variance: float, learns: Array) -> Correction:
    """Correct a belief by a measurement of the sum of some of its own quantities. learns: as in `corrected`."""
    together: Array = belief.covariance[rows[0]].copy()
    for row in rows[1:]:
        together += belief.covariance[row]
    innovation = measured - float(sum(belief.mean[row] for row in rows))
    total = float(sum(together[row] for row in rows)) + variance
    return Correction(_moved(belief, together, innovation, total, learns), innovation, total)


def corrected(
    belief: Belief, points: Array, expected: Array, measured: float, variance: float, learns: Array
) -> Correction:
    """Correct a belief by one measurement.

    points, expected: the belief's own points (n, 2n) and what each of them would measure (2n,). variance: of the
    measurement. learns (n,): 1 for what may be learned, 0 for what is only considered: its mean and variance stay, its
    doubt is carried into all that hangs together with it.
    """
    centre = float(expected.sum()) / expected.size
    together, spread = _together(belief, points, expected, centre)
    innovation, total = measured - centre, spread + variance
    return Correction(_moved(belief, together, innovation, total, learns), innovation, total)


def corrected_beyond(
    belief: Belief, points: Array, expected: Array, least: float, variance: float, learns: Array
) -> Correction:
    """Correct a belief by the word that something is at least so large: a measurement with one side.

    Mean and variance become those of a normal distribution cut off softly at `least`: with s² the variance of the
    expected value and of the word together and a = (mean - least) / s, the mean of that sum moves by s l and its
    variance shrinks by the share l (l + a), where l = pdf(a) / cdf(a).
    Source: moments of the truncated normal distribution, Johnson, Kotz and Balakrishnan, Continuous Univariate
    Distributions 1, chapter 13 (from memory).
    """
    centre = float(expected.sum()) / expected.size
    together, spread = _together(belief, points, expected, centre)
    total = spread + variance
    hazard, above = _hazard((centre - least) / sqrt(total))
    shrinks = hazard * (hazard + above)
    if shrinks < 1e-9:  # it was known anyway
        return Correction(belief, 0.0, total)
    # The same moments as a measurement with this innovation and this total variance would bring.
    innovation, as_if = hazard * sqrt(total) / shrinks, total / shrinks
    return Correction(_moved(belief, together, innovation, as_if, learns), innovation, as_if)


def _together(belief: Belief, points: Array, expected: Array, centre: float) -> tuple[Array, float]:
    apart = expected - centre
    together: Array = (points - belief.mean[:, None]) @ apart
    together /= apart.size
    return together, float(apart @ apart) / apart.size


def _moved(belief: Belief, together: Array, innovation: float, total: float, learns: Array) -> Belief:
    gain = together / total
    gain *= learns
    column = gain[:, None]
    cross = column * together
    covariance = belief.covariance - cross
    covariance -= cross.T
    covariance += column * (gain * total)
    return Belief(belief.mean + gain * innovation, covariance)


def _hazard(above: float) -> tuple[float, float]:
    """pdf(a) / cdf(a) of the standard normal, and a; far below by its asymptote, where both vanish."""
    above = max(above, -30.0)
    below = 0.5 * erfc(-above / sqrt(2.0))
    return exp(-0.5 * above * above) / sqrt(2.0 * pi) / below, above
