"""The only place that reads a real clock or waits for it. Whoever needs time is handed these functions, or others."""

import time


def monotonic_s() -> float:
    """Seconds that never jump, since an unknown moment; the same for every process of one boot."""
    return time.monotonic()


def utc_ms() -> int:
    """Milliseconds since 1970-01-01 UTC, as this machine believes: it labels, it never measures."""
    return time.time_ns() // 1_000_000


def sleep_s(seconds: float) -> None:
    """Wait for so many seconds; at once when none are left."""
    if seconds > 0:
        time.sleep(seconds)


def sleep_until_s(moment_s: float) -> None:
    """Wait until `monotonic_s` has come to that moment; at once when it is past."""
    sleep_s(moment_s - monotonic_s())
