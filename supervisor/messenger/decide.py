"""What people outside are told, and when: snapshots in, messages out. It reads no clock, sends nothing, knows no names.

One message for one cause: the alarm that came first in its group, not its followers; a supervisor that keeps failing is
one alarm with a count. Every message is made from the supervisor's own words; where it is silent, the message says that
whether heat is off is not known.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any, Literal, NamedTuple

from supervisor.messenger import words

HOT_C = 60.0
SILENT_S = 10.0
"""A supervisor that says nothing new for so long over a hot furnace is announced."""
GATHERS_S = 10.0
"""A restart is told after so long, with how many there were by then."""
STEADY_S = 60.0
"""So long without a gap or a restart, and it counts as back."""
ANSWERS_S = 2.0
"""Heard no longer ago than this, it may be said to answer: it speaks once a second."""
AGAIN_S = 600.0
"""While it goes on failing: the next message with the new count, not sooner."""
PROVED_WITHIN_S = 4.0
"""A trip is told when heat is proved off, or after so long that it is not proved."""
SECOND_AFTER_S = 120.0
"""A first-priority alarm that nobody has acknowledged goes to the second contact."""

LIVE = frozenset({"starting", "running", "holding", "held", "stopping", "completing", "aborting"})
TOLD_BY_ATTENDANCE = frozenset({"sign-due"})  # its stages say it at the right time
TOLD_BY_OUTAGE = frozenset({"cut-short", "begun-too-often", "trip-left", "past-unknown"})
"""Alarms with which a supervisor begins after it has failed: the outage's own message says so, with the count."""
MOST_KEYS = 300
_OFF = "/off"  # behind a group's name: since when heat is not proved off

Order = Literal["first", "second"]


class Message(NamedTuple):
    """One message to everybody of one order. Its key is used once."""

    key: str
    order: Order
    priority: int  # 1, 2 as the alarm; 3: news
    title: str
    body: str


class Heard(NamedTuple):
    """What the messenger knows of the supervisor in this moment."""

    snapshot: Mapping[str, Any] | None  # the newest one; None: it has not spoken since the messenger began
    silent_s: float  # real seconds since it last said something new, or since the messenger began
    now_s: float  # real, monotonic
    utc_ms: int


@dataclass(slots=True)
class Last:
    """What the supervisor said last: all that is known when it falls silent."""

    run: str
    boot: str
    hot: bool  # hot, or a firing in progress
    furnace: str  # title, with SIMULATED where it is
    utc_ms: int
    chamber_c: float | None
    state: str
    firing: str


@dataclass(slots=True)
class Outage:
    """The supervisor does not stay up over a hot furnace: one alarm from the first gap until it is steady again."""

    number: int
    since_utc_ms: int
    since_s: float
    heard_utc_ms: int  # the last word before it
    rebooted: bool = False  # the computer itself was started anew
    restarts: int = 0
    told_restarts: int = 0
    told_s: float | None = None
    told_silent: bool = False  # that it says nothing at all is told, also where a restart was told before
    steady_s: float | None = None  # since when it speaks without a gap


@dataclass(slots=True)
class Memory:
    """What one look leaves to the next. `kept` of it outlives the messenger."""

    told: dict[str, int] = field(default_factory=dict)  # key of a message, and when
    last: Last | None = None
    outage: Outage | None = None
    outages: int = 0
    firing_id: int | None = None  # seen at work
    seen_s: dict[str, float] = field(default_factory=dict)  # when a group of alarms that stands was first seen

    def kept(self) -> dict[str, Any]:
        """As plain JSON."""
        return {
            "told": dict(list(self.told.items())[-MOST_KEYS:]),
            "last": None if self.last is None else asdict(self.last),
            "outage": None if self.outage is None else asdict(self.outage),
            "outages": self.outages,
            "firing_id": self.firing_id,
        }


def remembered(kept: Mapping[str, Any], now_s: float) -> Memory:
    """What an earlier run kept.

    Raises:
        KeyError, TypeError, ValueError: it was not written by this program.
    """
    last, outage = kept["last"], kept["outage"]
    if outage is not None:  # the clock of its seconds may have begun anew with the machine
        told_s = None if outage["told_s"] is None else now_s
        outage = Outage(**{**outage, "since_s": now_s, "told_s": told_s, "steady_s": None})
    return Memory(
        {str(key): int(utc_ms) for key, utc_ms in kept["told"].items()},
        None if last is None else Last(**last),
        outage,
        int(kept["outages"]),
        kept["firing_id"],
    )


def decide(memory: Memory, heard: Heard) -> list[Message]:
    """The messages of this moment. The memory is changed in place."""
    found = _outage(memory, heard)
    snapshot = heard.snapshot
    if snapshot is not None and heard.silent_s < SILENT_S:
        _carry_over(memory, snapshot)
        found += _alarms(memory, heard, snapshot)
        found += _attendance(snapshot)
        found += _news(memory, snapshot)
        memory.last = _last(snapshot)
    new = [message for message in found if message.key not in memory.told]
    for message in new:
        memory.told[message.key] = heard.utc_ms
    while len(memory.told) > MOST_KEYS:
        del memory.told[next(iter(memory.told))]
    return new


# --- the supervisor itself ----------------------------------------------------------------------------------------


def _outage(memory: Memory, heard: Heard) -> list[Message]:
    last, snapshot = memory.last, heard.snapshot
    silent = heard.silent_s >= SILENT_S or snapshot is None
    restarted = not silent and last is not None and snapshot is not None and snapshot["run"] != last.run
    outage = memory.outage
    if outage is None:
        if last is None or not last.hot or not (restarted or heard.silent_s >= SILENT_S):
            return []
        memory.outages += 1
        since_ms = heard.utc_ms - round(heard.silent_s * 1000)
        outage = memory.outage = Outage(memory.outages, since_ms, heard.now_s - heard.silent_s, last.utc_ms)
    outage.restarts += restarted
    outage.rebooted |= restarted and last is not None and snapshot is not None and snapshot["boot"] != last.boot
    if restarted or heard.silent_s >= SILENT_S:
        outage.steady_s = None
    elif outage.steady_s is None:
        outage.steady_s = heard.now_s
    elif heard.now_s - outage.steady_s >= STEADY_S and heard.silent_s <= ANSWERS_S:
        return _over(memory, outage, heard)
    return _goes_on(memory, outage, heard, silent=silent)


def _goes_on(memory: Memory, outage: Outage, heard: Heard, *, silent: bool) -> list[Message]:
    falls_silent = heard.silent_s >= SILENT_S and not outage.told_silent
    if outage.told_s is None:
        due = falls_silent or heard.now_s - outage.since_s >= GATHERS_S
    else:
        due = falls_silent or (outage.restarts > outage.told_restarts and heard.now_s - outage.told_s >= AGAIN_S)
    if not due or memory.last is None:
        return []
    again = outage.told_s is not None
    outage.told_s, outage.told_restarts = heard.now_s, outage.restarts
    key = f"outage/{outage.since_utc_ms}/{outage.number}/{outage.restarts}"
    if silent or heard.snapshot is None:
        outage.told_silent = True
        return _to_both(f"{key}/silent", 1, *words.silent(memory.last, outage, heard))
    return _to_both(key, 1, *words.restarted(heard.snapshot, outage, heard, again=again))


def _over(memory: Memory, outage: Outage, heard: Heard) -> list[Message]:
    memory.outage = None
    if outage.told_s is None or heard.snapshot is None:
        return []
    return _to_both(f"outage/{outage.since_utc_ms}/{outage.number}/over", 2, *words.back(heard.snapshot, outage))


def _to_both(key: str, priority: int, title: str, body: str) -> list[Message]:
    orders: tuple[Order, ...] = ("first", "second")
    return [Message(f"{key}/{order}", order, priority, title, body) for order in orders]


def _carry_over(memory: Memory, snapshot: Mapping[str, Any]) -> None:
    """A trip outlives the run in which it was told; all other alarms are counted anew."""
    run, last = str(snapshot["run"]), memory.last
    if last is None or last.run == run:
        return
    for alarm in snapshot["alarms"]:
        old = f"{last.run}/{alarm['id']}/"
        if alarm["latched"]:
            for told in [key for key in memory.told if key.startswith(old)]:
                memory.told[f"{run}/{alarm['id']}/{told.removeprefix(old)}"] = memory.told[told]


# --- what it says -------------------------------------------------------------------------------------------------


def _alarms(memory: Memory, heard: Heard, snapshot: Mapping[str, Any]) -> list[Message]:
    found: list[Message] = []
    groups: dict[str, list[Mapping[str, Any]]] = {}
    for alarm in snapshot["alarms"]:
        group = f"{snapshot['run']}/{alarm['group']}"
        if memory.outage is not None and alarm["watch"] in TOLD_BY_OUTAGE:
            memory.told.setdefault(f"{group}/1/first", heard.utc_ms)
            memory.told.setdefault(f"{group}/1/second", heard.utc_ms)
        elif alarm["priority"] in (1, 2) and alarm["watch"] not in TOLD_BY_ATTENDANCE:
            groups.setdefault(group, []).append(alarm)
    for group, alarms in groups.items():
        found += _group(memory, heard, snapshot, group, alarms)
    memory.seen_s = {key: at_s for key, at_s in memory.seen_s.items() if key.removesuffix(_OFF) in groups}
    return found


def _group(
    memory: Memory, heard: Heard, snapshot: Mapping[str, Any], group: str, alarms: list[Mapping[str, Any]]
) -> list[Message]:
    """One cause and what followed: told once, and again only when it turns out worse than was told."""
    now_s, off = heard.now_s, snapshot["heat"]["off"]
    since_s = memory.seen_s.setdefault(group, now_s)
    unproved_s = memory.seen_s.setdefault(f"{group}{_OFF}", now_s)
    if off != "ordered":
        unproved_s = memory.seen_s[f"{group}{_OFF}"] = now_s
    if off == "ordered" and now_s - unproved_s < PROVED_WITHIN_S:
        return []  # a moment, and it is proved or it is not
    worst = min(alarms, key=lambda alarm: (alarm["priority"], not alarm["first_out"], alarm["since_s"]))
    priority = int(worst["priority"])
    first = next((each for each in alarms if each["first_out"] and each["priority"] == priority), worst)
    title, body = words.alarm(snapshot, first)
    told = [stronger for stronger in range(1, priority + 1) if f"{group}/{stronger}/first" in memory.told]
    found = [] if told else [Message(f"{group}/{priority}/first", "first", priority, title, body)]
    if off == "ordered" and told and f"{group}/proved" in memory.told:
        found.append(Message(f"{group}/unproved/first", "first", 1, title, body))
    if off == "proved" and (told or found):
        memory.told.setdefault(f"{group}/proved", heard.utc_ms)
    unseen = any(alarm["priority"] == 1 and not alarm["acknowledged"] for alarm in alarms)
    if unseen and now_s - since_s >= SECOND_AFTER_S:
        found.append(Message(f"{group}/1/second", "second", 1, title, body))
    return found


def _attendance(snapshot: Mapping[str, Any]) -> list[Message]:
    attendance = snapshot.get("attendance")
    if attendance is None or not attendance["tell"]:
        return []
    key = f"{snapshot['run']}/sign/{attendance['number']}"
    title, body = words.attendance(snapshot, attendance)
    found = [Message(f"{key}/first", "first", 2, title, body)]
    if attendance["tell"] == "second":
        found.append(Message(f"{key}/second", "second", 1, title, body))
    return found


def _news(memory: Memory, snapshot: Mapping[str, Any]) -> list[Message]:
    firing, metal = snapshot["firing"], snapshot["metal"]
    if firing is None:
        return []
    found = []
    number = firing["id"]
    if snapshot["state"] in LIVE:
        memory.firing_id = number
    if snapshot["state"] in LIVE and metal is not None and metal["ready"]:
        title, body = words.ready(snapshot)
        found.append(Message(f"firing/{number}/ready", "first", 3, title, body))
    if snapshot["state"] == "complete" and memory.firing_id == number:
        title, body = words.done(snapshot)
        found.append(Message(f"firing/{number}/done", "first", 3, title, body))
    return found


def _last(snapshot: Mapping[str, Any]) -> Last:
    chamber_c = snapshot["hot_junction"]["c"]
    return Last(
        snapshot["run"],
        snapshot["boot"],
        snapshot["state"] in LIVE or (chamber_c is not None and chamber_c >= HOT_C),
        words.furnace(snapshot),
        snapshot["utc_ms"],
        chamber_c,
        snapshot["state"],
        words.firing(snapshot),
    )
