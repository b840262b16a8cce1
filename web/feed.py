"""What the furnace last said, shared by all phones: one thread reads the link, everybody else reads this.

Ages are counted on this process's monotonic clock from the moment a snapshot came, and only a snapshot whose own clock
has moved counts as speech: a supervisor that repeats itself is silent.
"""

from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from secrets import token_hex
from threading import Condition, Event, Thread
from typing import Any, NamedTuple, Protocol

from web.happenings import happenings

Snapshot = dict[str, Any]

KEPT_HAPPENINGS = 500
TRY_AGAIN_S = 1.0
MOST_STREAMS = 20


class Answered(Protocol):
    """What came back for a command. accepted is None when nobody answered: unknown, never done."""

    @property
    def id(self) -> str: ...  # noqa: D102 - named by the class docstring
    @property
    def accepted(self) -> bool | None: ...  # noqa: D102
    @property
    def sentence(self) -> str: ...  # noqa: D102
    @property
    def epoch(self) -> int | None: ...  # noqa: D102


class Supervisor(Protocol):
    """The supervisor as the pages reach it: docs/link.md."""

    def send(self, message: dict[str, Any]) -> Answered: ...  # noqa: D102
    def watch(self, readers: Callable[[], int]) -> Iterator[Snapshot]: ...  # noqa: D102


class Moment(NamedTuple):
    """A snapshot, its running number in this feed, and when it came on this process's monotonic clock."""

    number: int
    snapshot: Snapshot
    came_s: float


class Happening(NamedTuple):
    """Something that changed, for those who were away."""

    number: int
    utc_ms: int
    sentence: str


class Feed:
    """The newest snapshot with its age, and what happened since any earlier one."""

    def __init__(self, supervisor: Supervisor, monotonic_s: Callable[[], float]):
        self.name = token_hex(4)  # ids of another run of the pages mean nothing to this one
        self.monotonic_s = monotonic_s
        self._supervisor = supervisor
        self._news = Condition()
        self._moment: Moment | None = None
        self.trouble = ""  # why the link is silent, in the link's own words
        self._happened: deque[Happening] = deque(maxlen=KEPT_HAPPENINGS)
        self._forgotten = 0  # number of the newest happening that was let go
        self._streams = 0
        self._ended = Event()
        self._reader = Thread(target=self._read, name="link reader", daemon=True)

    def start(self) -> None:
        """Begin to read the link."""
        self._reader.start()

    def close(self) -> None:
        """Stop reading; streams end within a second."""
        self._ended.set()
        with self._news:
            self._news.notify_all()

    @property
    def streams(self) -> int:
        """How many phones listen now."""
        return self._streams

    @property
    def ended(self) -> bool:
        """The feed is closed."""
        return self._ended.is_set()

    def _read(self) -> None:
        while not self._ended.is_set():
            try:
                for snapshot in self._supervisor.watch(lambda: self._streams):
                    self._take(snapshot)
                    if self._ended.is_set():
                        return
            except OSError as problem:
                with self._news:
                    self.trouble = str(problem)
                    self._news.notify_all()
            self._ended.wait(TRY_AGAIN_S)

    def _take(self, snapshot: Snapshot) -> None:
        self.trouble = ""
        with self._news:
            before = self._moment
            if before and _same_moment(before.snapshot, snapshot):
                return
            number = before.number + 1 if before else 1
            for sentence in happenings(before.snapshot, snapshot) if before else ():
                if len(self._happened) == KEPT_HAPPENINGS:
                    self._forgotten = self._happened[0].number
                self._happened.append(Happening(number, snapshot["utc_ms"], sentence))
            self._moment = Moment(number, snapshot, self.monotonic_s())
            self._news.notify_all()

    def latest(self, wait_s: float = 0.0) -> Moment | None:
        """The newest moment. Before the first one has come, wait for it as long as wait_s, unless nobody is there."""
        with self._news:
            self._news.wait_for(lambda: self._ended.is_set() or self._number() > 0 or self.trouble != "", wait_s)
            return self._moment

    def after(self, number: int, wait_s: float) -> Moment | None:
        """The newest moment if it is later than number, waiting for it as long as wait_s; else None."""
        with self._news:
            self._news.wait_for(lambda: self._ended.is_set() or self._number() > number, wait_s)
            return self._moment if self._number() > number else None

    def _number(self) -> int:
        return self._moment.number if self._moment else 0

    def age_s(self, moment: Moment) -> float:
        """Seconds since the moment was true: its age when it came, and the time since."""
        return float(moment.snapshot.get("age_s") or 0.0) + max(0.0, self.monotonic_s() - moment.came_s)

    def id_of(self, moment: Moment) -> str:
        """By which a phone says what it has last been told."""
        return f"{self.name}-{moment.number}"

    def since(self, number: int) -> list[Happening] | None:
        """What happened after a moment; None: more than is kept, or that moment was never here."""
        with self._news:
            if number < self._forgotten or number > self._number():
                return None
            return [happening for happening in self._happened if happening.number > number]

    @contextmanager
    def stream(self) -> Iterator[bool]:
        """A place among the streams; False: all are taken."""
        with self._news:
            placed = self._streams < MOST_STREAMS
            self._streams += placed
        try:
            yield placed
        finally:
            with self._news:
                self._streams -= placed


def _same_moment(one: Snapshot, other: Snapshot) -> bool:
    return all(one[key] == other[key] for key in ("boot", "monotonic_s", "epoch"))
