"""Forecasts for whoever asks, in a thread of their own: no stop waits for one."""

from collections import deque
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from typing import Any, Generic, TypeVar

from supervisor.firing.profile import Profile
from supervisor.link.protocol import WhatIf
from supervisor.metal.charge import Planned

MOST_RECKONED = 4
"""Forecasts that may wait for their turn."""

Reckon = Callable[[Profile, Planned | None], tuple[dict[str, Any] | None, str]]
"""Forecasts a firing: what it would take, or why nobody can say."""

Asker = TypeVar("Asker")


class Reckoner(Generic[Asker]):
    """One thread that reckons, and what it found. All but the reckoning is done by the link's own thread."""

    def __init__(self, ring: Callable[[], None]) -> None:
        """ring: called from the thread when something was found."""
        self.reckon: Reckon | None = None
        self._ring = ring
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="forecast")
        self._waiting = 0  # asked for and not told yet
        self._found: deque[tuple[Asker, Mapping[str, Any]]] = deque()

    def ask(self, asker: Asker, wanted: WhatIf) -> str:
        """Take one. What comes back is why it is not taken; empty: it is told by `found`."""
        reckon = self.reckon
        if reckon is None:
            return "Nothing is forecast here."
        if self._waiting >= MOST_RECKONED:
            return "Too many ask for a forecast. Ask again."

        def work() -> None:
            found, why = None, "It could not be reckoned in this moment. Ask again."
            try:
                found, why = reckon(wanted.profile, wanted.planned)
            finally:  # whatever went wrong in it, who asked is told, and the place is free again
                self._found.append((asker, {"forecast": found, "sentence": why}))
                self._ring()

        self._waiting += 1
        self._pool.submit(work)
        return ""

    def found(self) -> Iterator[tuple[Asker, Mapping[str, Any]]]:
        """What was found since, each with who asked."""
        while self._found:
            self._waiting -= 1
            yield self._found.popleft()

    def close(self) -> None:
        """Let go of what waits."""
        self._pool.shutdown(wait=False, cancel_futures=True)
