"""How often each address may ask. A stop is not counted here at all."""

from collections.abc import Callable

MOST_BUCKETS = 10_000


class Rates:
    """Buckets that fill with time, one for each kind of request and address."""

    def __init__(self, monotonic_s: Callable[[], float]):
        self._monotonic_s = monotonic_s
        self._buckets: dict[tuple[str, str], tuple[float, float]] = {}

    def allow(self, kind: str, address: str, *, per_s: float, burst: float) -> bool:
        """Take one from the bucket of this kind and address. False: it is empty."""
        now_s = self._monotonic_s()
        if len(self._buckets) > MOST_BUCKETS:  # a flood from many addresses must not fill the memory
            self._buckets.clear()
        left, since_s = self._buckets.get((kind, address), (burst, now_s))
        left = min(burst, left + (now_s - since_s) * per_s)
        self._buckets[kind, address] = (max(0.0, left - 1), now_s)
        return left >= 1
