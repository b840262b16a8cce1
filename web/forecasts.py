"""Forecasts of firings that nobody has prepared: asked over the link, kept for a short while."""

import json
from collections import OrderedDict
from collections.abc import Callable, Mapping
from threading import Lock
from typing import Any, Protocol

GOOD_FOR_S = 30.0
MOST_KEPT = 20

Forecast = Mapping[str, Any] | None


class Asked(Protocol):
    """Whoever forecasts: the link."""

    def forecast(self, wanted: Mapping[str, Any]) -> tuple[dict[str, Any] | None, str]: ...  # noqa: D102
    def judge(self, profile_toml: str) -> tuple[dict[str, Any] | None, str]: ...  # noqa: D102


class Forecasts:
    """Asks once for each plan in half a minute: a phone that shows a page again asks nothing of the supervisor."""

    def __init__(self, link: Asked, monotonic_s: Callable[[], float]) -> None:
        self._link = link
        self._monotonic_s = monotonic_s
        self._kept: OrderedDict[str, tuple[float, tuple[Forecast, str]]] = OrderedDict()
        self._lock = Lock()

    def judge(self, profile_toml: str) -> tuple[Forecast, str]:
        """How the supervisor understands a profile, or the sentence that says why this furnace cannot do it.

        Raises:
            OSError: nobody answers.
        """
        return self._link.judge(profile_toml)

    def of(self, wanted: Mapping[str, Any]) -> tuple[Forecast, str]:
        """What that firing would take, begun now, and why nobody can say: one of the two is empty."""
        key, now_s = json.dumps(wanted, sort_keys=True), self._monotonic_s()
        with self._lock:
            kept = self._kept.get(key)
        if kept is not None and now_s - kept[0] < GOOD_FOR_S:
            return kept[1]
        try:
            found = self._link.forecast(wanted)
        except OSError as problem:
            return None, str(problem)
        with self._lock:
            self._kept[key] = (now_s, found)
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        return found
