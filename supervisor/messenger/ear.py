"""What the supervisor last said, from a thread that reads the link: the messenger's own loop never waits for it."""

from collections.abc import Callable, Iterator, Mapping
from threading import Event, Lock, Thread
from typing import Any, Protocol

from supervisor.link.client import LinkSilent

TRY_AGAIN_S = 0.5


class Watched(Protocol):
    """The link, as far as the ear needs it."""

    def watch(self, readers: Callable[[], int] | None = None) -> Iterator[dict[str, Any]]:
        """Snapshots, until the supervisor falls silent."""
        ...


class Ear:
    """The newest snapshot, and how long ago the supervisor last said something new."""

    def __init__(self, link: Watched, now_s: Callable[[], float]) -> None:
        self._link, self._now_s = link, now_s
        self._lock = Lock()
        self._newest: Mapping[str, Any] | None = None
        self._moment: tuple[Any, ...] = ()
        self._spoke_s = now_s()
        self._ended = Event()
        self._thread = Thread(target=self._listen, name="link", daemon=True)

    def start(self) -> None:
        """Begin to listen."""
        self._thread.start()

    def close(self) -> None:
        """Stop listening. The thread ends with its next snapshot or with the process."""
        self._ended.set()

    @property
    def heard(self) -> tuple[Mapping[str, Any] | None, float]:
        """The newest snapshot, and real seconds since the supervisor's own clock was seen to move."""
        with self._lock:
            return self._newest, max(0.0, self._now_s() - self._spoke_s)

    def _listen(self) -> None:
        while not self._ended.is_set():
            try:
                for snapshot in self._link.watch(lambda: 0):  # nobody looks through this
                    self._take(snapshot)
                    if self._ended.is_set():
                        return
            except (LinkSilent, KeyError, TypeError, ValueError):  # nobody, or one that speaks otherwise
                pass
            self._ended.wait(TRY_AGAIN_S)

    def _take(self, snapshot: Mapping[str, Any]) -> None:
        moment, age_s = tuple(snapshot[name] for name in ("run", "monotonic_s", "epoch")), float(snapshot["age_s"])
        with self._lock:
            if moment == self._moment:  # a supervisor that repeats itself is silent
                return
            self._newest, self._moment, self._spoke_s = snapshot, moment, self._now_s() - age_s
