"""The filter against exact ones: on linear systems there is nothing to estimate about the right answer."""

import numpy as np
import pytest
from numpy.linalg import LinAlgError
from numpy.typing import NDArray
from scipy.linalg import solve_discrete_are
from scipy.stats import truncnorm

from supervisor.model.follower import Belief, belief_of, corrected, corrected_beyond, corrected_sum, points_of, root

Array = NDArray[np.float64]

TRANSITION = np.array([[0.95, 0.10, 0.00], [0.00, 0.90, 0.20], [0.00, 0.05, 0.85]])
NOISE = np.array([0.04, 0.01, 0.09])
SEEN = np.array([1.0, 0.0, 0.0])
VARIANCE = 0.25
ALL = np.ones(3)


def begun() -> Belief:
    return Belief(np.array([1.0, -2.0, 0.5]), np.array([[2.0, 0.3, 0.1], [0.3, 1.0, 0.2], [0.1, 0.2, 0.5]]))


def carried_on(belief: Belief) -> Belief:
    return belief_of(TRANSITION @ points_of(belief), NOISE)


def test_on_a_linear_system_it_is_the_kalman_filter_itself() -> None:
    # Kalman, R. E. (1960), A new approach to linear filtering and prediction problems, Journal of Basic Engineering
    # 82, 35-45: the recursion, written out here with matrices (from memory).
    random, belief = np.random.default_rng(1), begun()
    mean, covariance = belief
    for _ in range(60):
        measured = float(random.normal())
        mean, covariance = TRANSITION @ mean, TRANSITION @ covariance @ TRANSITION.T + np.diag(NOISE)
        gain = covariance @ SEEN / (SEEN @ covariance @ SEEN + VARIANCE)
        mean, covariance = mean + gain * (measured - SEEN @ mean), covariance - np.outer(gain, SEEN @ covariance)
        belief = corrected_sum(carried_on(belief), (0,), measured, VARIANCE, ALL).belief
        np.testing.assert_allclose(belief.mean, mean, rtol=1e-9, atol=1e-12)
        np.testing.assert_allclose(belief.covariance, covariance, rtol=1e-9, atol=1e-12)


def test_its_covariance_settles_where_the_riccati_equation_says() -> None:
    # scipy.linalg.solve_discrete_are, SciPy's solver of the discrete algebraic Riccati equation.
    belief = begun()
    for _ in range(400):
        belief = corrected_sum(carried_on(belief), (0,), 0.0, VARIANCE, ALL).belief
    settled = solve_discrete_are(TRANSITION.T, SEEN[:, None], np.diag(NOISE), np.array([[VARIANCE]]))
    np.testing.assert_allclose(carried_on(belief).covariance, settled, rtol=1e-8)


def test_its_points_give_means_exactly_up_to_the_third_power() -> None:
    # Arasaratnam and Haykin (2009), section IV: the cubature rule is of degree three. The means on the right are those
    # of a normal distribution: E[xy] = m1 m2 + c12, E[x³] = m³ + 3 m v, E[x²y] = m1² m2 + v1 m2 + 2 m1 c12.
    belief = begun()
    (m1, m2, _), c = belief.mean, belief.covariance
    x, y, _ = points_of(belief)
    assert np.mean(x * y) == pytest.approx(m1 * m2 + c[0, 1], rel=1e-12)
    assert np.mean(x**3) == pytest.approx(m1**3 + 3 * m1 * c[0, 0], rel=1e-12)
    assert np.mean(x * x * y) == pytest.approx(m1 * m1 * m2 + c[0, 0] * m2 + 2 * m1 * c[0, 1], rel=1e-12)


def test_points_measure_as_well_as_a_row_does() -> None:
    belief = begun()
    points = points_of(belief)
    by_points = corrected(belief, points, points[0] + points[2], 1.7, VARIANCE, ALL)
    by_rows = corrected_sum(belief, (0, 2), 1.7, VARIANCE, ALL)
    np.testing.assert_allclose(by_points.belief.mean, by_rows.belief.mean, rtol=1e-12)
    np.testing.assert_allclose(by_points.belief.covariance, by_rows.belief.covariance, rtol=1e-9)
    assert (by_points.innovation, by_points.variance) == pytest.approx((by_rows.innovation, by_rows.variance))


def test_what_is_considered_stays_as_it_was_and_the_covariance_stays_honest() -> None:
    # The exact error covariance of any gain K is (I - K H) P (I - K H)' + K R K' (Joseph's form; Bucy and Joseph, 1968,
    # Filtering for Stochastic Processes with Applications to Guidance, from memory).
    belief, learns = carried_on(begun()), np.array([1.0, 1.0, 0.0])
    found = corrected_sum(belief, (0,), 3.0, VARIANCE, learns).belief
    gain = learns * (belief.covariance @ SEEN) / (SEEN @ belief.covariance @ SEEN + VARIANCE)
    kept = np.eye(3) - np.outer(gain, SEEN)
    exact = kept @ belief.covariance @ kept.T + VARIANCE * np.outer(gain, gain)
    np.testing.assert_allclose(found.covariance, exact, rtol=1e-9, atol=1e-12)
    assert found.mean[2] == belief.mean[2]
    assert found.covariance[2, 2] == belief.covariance[2, 2]
    assert found.mean[0] != belief.mean[0]


@pytest.mark.parametrize("least", [-1.0, 0.0, 1.0, 2.5, 6.0])
def test_a_word_with_one_side_cuts_the_normal_distribution_off(least: float) -> None:
    # scipy.stats.truncnorm: moments of the normal distribution cut off below `least`.
    mean, sd = 1.0, 2.0
    belief = Belief(np.array([mean]), np.array([[sd**2]]))
    points = points_of(belief)
    found = corrected_beyond(belief, points, points[0], least, 0.0, np.ones(1)).belief
    exact = truncnorm((least - mean) / sd, np.inf, loc=mean, scale=sd)
    assert found.mean[0] == pytest.approx(exact.mean(), rel=1e-6)
    assert found.covariance[0, 0] == pytest.approx(exact.var(), rel=1e-6)


def test_a_word_that_says_nothing_new_changes_nothing() -> None:
    belief = Belief(np.array([100.0]), np.array([[1.0]]))
    points = points_of(belief)
    assert corrected_beyond(belief, points, points[0], 0.0, 1.0, np.ones(1)).belief is belief


def test_a_covariance_that_rounding_spoilt_still_has_a_root() -> None:
    spoilt = np.array([[1.0, 1.0], [1.0, 1.0 - 1e-13]])
    with pytest.raises(LinAlgError):
        np.linalg.cholesky(spoilt)
    lower = root(spoilt)
    np.testing.assert_allclose(lower @ lower.T, spoilt, atol=1e-6)


@pytest.mark.parametrize("broken", [np.array([[np.nan]]), np.array([[1.0, 5.0], [5.0, 1.0]])])
def test_what_is_no_covariance_is_refused(broken: Array) -> None:
    with pytest.raises(LinAlgError):
        root(broken)
