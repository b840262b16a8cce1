"""What the page Equipment shows: the link's own answer, kept for one run of the supervisor, and dates of the log."""

from collections.abc import Iterable
from pathlib import Path
from threading import Lock
from typing import Any, NamedTuple, Protocol

from supervisor.logbook import last
from supervisor.logbook.reading import open_log

Answer = dict[str, Any]


class Told(Protocol):
    """Whoever tells what is fitted: the link."""

    def equipment(self) -> Answer: ...  # noqa: D102


class Procedure(NamedTuple):
    """Something that is proved now and then, and when it last was. utc_ms None: nothing is on record."""

    name: str
    utc_ms: int | None
    passed: bool
    words: str


class Equipment:
    """Asks once for each run of the supervisor."""

    def __init__(self, link: Told) -> None:
        self._link = link
        self._known: tuple[str, Answer] | None = None
        self._lock = Lock()

    def of(self, run: str) -> Answer:
        """What is fitted, by the supervisor of this run.

        Raises:
            OSError: nobody answers.
        """
        with self._lock:
            known = self._known
        if known is not None and known[0] == run:
            return known[1]
        answer = self._link.equipment()
        with self._lock:
            self._known = (run, answer)
        return answer


def last_spoken(data: Path) -> dict[str, int]:
    """When each watch last spoke, ms of UTC; nothing where there is no log yet.

    Raises:
        InputRefused: there is a log that cannot be read.
    """
    if not (data / "furnace.db").is_file():
        return {}
    with open_log(data) as log:
        return last.last_spoken(log)


def procedures(data: Path) -> list[Procedure]:
    """What was proved, and when, as far as the log says.

    Raises:
        InputRefused: there is a log that cannot be read.
    """
    if not (data / "furnace.db").is_file():
        return [_never(name, words) for name, _, words in _PROCEDURES]
    with open_log(data) as log:
        return [_last(name, last.last_event(log, kind) if kind else None, words) for name, kind, words in _PROCEDURES]


_PROCEDURES = (
    (
        "Start test",
        "start test",
        "At each start: both permit relays let go by themselves, the contactor opens and closes, the relay is off.",
    ),
    ("Cold check", "cold check", "In a cold furnace hot and cold junction agree within 2.5 K."),
    ("Relay proof", "relay proof", "The relay lets go: no current, no pulse or no rise while it is ordered off."),
    (
        "Limiter proof",
        "",
        "The limiter opens the contactor by itself. No input can witness that it would: try it once a year, as"
        " docs/wiring.md says, and keep the date yourself.",
    ),
)


def _never(name: str, words: str) -> Procedure:
    return Procedure(name, None, False, words)


def _last(name: str, event: dict[str, Any] | None, words: str) -> Procedure:
    if event is None:
        return _never(name, words)
    detail = event["detail"]
    passed = bool(detail.get("passed", detail.get("result") == "proved"))
    why = detail.get("why") or detail.get("evidence") or ""
    return Procedure(name, int(event["utc_ms"]), passed, f"{words} {why[:1].upper()}{why[1:]}." if why else words)


def states(watches: Iterable[dict[str, Any]], snapshot: dict[str, Any]) -> dict[str, str]:
    """What each watch does now, in a word or two."""
    now = snapshot["watches"]
    speaking = {watch["id"] for watch in now["speak"]}
    shelved = {each["watch"]: each for each in snapshot.get("shelved", ())}
    found = {}
    for watch in watches:
        name = watch["id"]
        if name in speaking:
            found[name] = "speaks"
        elif name in shelved:
            found[name] = f"put aside by {shelved[name]['who']}, {shelved[name]['left_s'] / 60:.0f} min left"
        elif not watch["fitted"]:
            found[name] = "not fitted"
        elif snapshot["state"] in watch["states"]:
            found[name] = "asked now"
        else:
            found[name] = "rests: it would mean nothing in this state"
    return found
