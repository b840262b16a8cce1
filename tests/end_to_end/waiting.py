"""Waiting in real time for what another process does."""

from collections.abc import Callable

from hardware.clock import monotonic_s, sleep_s


def until(what: str, happened: Callable[[], bool], *, within_s: float = 60.0) -> None:
    """Wait for something that has to happen.

    Raises:
        TimeoutError: it did not.
    """
    end_s = monotonic_s() + within_s
    while not happened():
        if monotonic_s() > end_s:
            raise TimeoutError(f"{what} did not happen within {within_s:g} s")
        sleep_s(0.05)
