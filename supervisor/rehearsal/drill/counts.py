"""What a small count says: bounds by the Poisson distribution."""

from math import exp


def poisson_upper(count: int, confidence: float = 0.95) -> float:
    """The one-sided upper bound of the mean of which so few were counted.

    Source: Garwood, F. (1936), Fiducial limits for the Poisson distribution, Biometrika 28, 437-442 (from memory): the
    mean at which the chance of count or fewer is 1 - confidence.
    """
    low, high = 0.0, 10.0 + 3.0 * count
    for _ in range(100):
        mean = (low + high) / 2.0
        if _at_most(count, mean) > 1.0 - confidence:
            low = mean
        else:
            high = mean
    return high


def _at_most(count: int, mean: float) -> float:
    term = total = exp(-mean)
    for number in range(1, count + 1):
        term *= mean / number
        total += term
    return total


def quantile(values: list[float], share: float) -> float:
    """The value that so large a share does not exceed: the nearest one of them."""
    ordered = sorted(values)
    return ordered[min(int(share * len(ordered)), len(ordered) - 1)]
