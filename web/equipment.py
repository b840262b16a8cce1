"""What the page Equipment shows: the link's own answer, kept for one run of the supervisor, and dates of the log."""

from collections.abc import Iterable
from pathlib import Path
from threading import Lock
from typing import Any, NamedTuple, Protocol

from supervisor.logbook import last
from supervisor.logbook.commissioning import permit_moved
from supervisor.logbook.reading import Log, open_log

SPEAKS, PUT_ASIDE = "speaks", "put aside by"

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
    """What every start proves anew, and when it last did, as far as the log says.

    Raises:
        InputRefused: there is a log that cannot be read.
    """
    if not (data / "furnace.db").is_file():
        return [Procedure(kind.name, None, False, kind.words) for kind in _PROCEDURES]
    with open_log(data) as log:
        test, *others = (_last(log, kind) for kind in _PROCEDURES)
        return [_with_the_permit(log, test), *others]


class _Kind(NamedTuple):
    """A procedure: the event that records it, and what that event's detail must hold."""

    name: str
    event: str
    holds: tuple[str, str | None]  # key and value; None: any
    words: str


_PROCEDURES = (
    _Kind(
        "Start test",
        "start test",
        ("passed", None),
        "At each start: both permit relays let go by themselves, the contactor opens and closes, the relay is off.",
    ),
    _Kind(
        "Cold check",
        "start test",
        ("passed", None),
        "Cold, hot and cold junction agree within 2.5 K: no start without it.",
    ),
    _Kind(
        "Relay proof",
        "relay proof",
        ("result", None),
        "The relay lets go: no current, no pulse or no rise while it is ordered off.",
    ),
)


def _last(log: Log, kind: _Kind) -> Procedure:
    key, value = kind.holds
    for event in last.last_events(log, kind.event):
        detail = event["detail"]
        if key not in detail or value not in (None, detail[key]):
            continue
        passed = bool(detail.get("passed", detail.get("result", "proved") == "proved"))
        why = str(detail.get("why") or detail.get("evidence") or "")
        words = f"{kind.words} {why[:1].upper()}{why[1:]}." if why else kind.words
        return Procedure(kind.name, int(event["utc_ms"]), passed, words)
    return Procedure(kind.name, None, False, kind.words)


def _with_the_permit(log: Log, test: Procedure) -> Procedure:
    """The start test, with what its last times say of the permit's circuit."""
    return test._replace(words=f"{test.words} {permit_moved(log)}".rstrip())


def states(watches: Iterable[dict[str, Any]], snapshot: dict[str, Any]) -> dict[str, str]:
    """What each watch does now, in a word or two."""
    now = snapshot["watches"]
    speaking = {watch["id"] for watch in now["speak"]}
    shelved = {each["watch"]: each for each in snapshot.get("shelved", ())}
    found = {}
    for watch in watches:
        name = watch["id"]
        if name in speaking:
            found[name] = SPEAKS
        elif name in shelved:
            found[name] = f"{PUT_ASIDE} {shelved[name]['who']}, {shelved[name]['left_s'] / 60:.0f} min left"
        elif not watch["fitted"]:
            found[name] = "not fitted"
        elif snapshot["state"] in watch["states"]:
            found[name] = "asked now"
        else:
            found[name] = "rests: it would mean nothing in this state"
    return found
