"""Snapshots in a row, and what the messenger makes of them: a supervisor that says what a test tells it to say."""

import json
from dataclasses import dataclass, field
from typing import Any

from supervisor.messenger.decide import Heard, Memory, Message, decide, remembered
from tests.web.snapshot_parts import made
from tests.web.snapshots import STOPPED

UTC_MS = 1_789_000_000_000


def alarm(name: str = "sensor-open", *, priority: int = 1, **changes: Any) -> dict[str, Any]:
    number = changes.pop("number", 1)
    own_id = f"{name}/{number}"
    return {
        "id": own_id,
        "watch": name,
        "group": own_id,
        "folded": False,
        "first_out": True,
        "priority": priority,
        "state": "unacknowledged",
        "acknowledged": False,
        "latched": priority == 1,
        "sentence": f"What {name} says.",
        "consequence": "What comes of it.",
        "act": f"Do what {name} asks.",
        "evidence": "figures",
        "since_s": 4999.0,
        **changes,
    }


Part = dict[str, Any]

PROVED: Part = {"allowed": False, "off": "proved", "sentence": "Heat is off: the contactor reads open."}
ORDERED: Part = {"allowed": False, "off": "ordered", "sentence": "Off was ordered, not proved yet."}
UNPROVED: Part = {
    "allowed": False,
    "off": "ordered",
    "sentence": "Off was ordered, not proved: switch off at the breaker.",
}
ALLOWED: Part = {"allowed": True, "off": None, "sentence": "Heat is allowed."}
RUN = {"id": 3, "name": "A-097", "elapsed_s": 60.0, "started_utc_ms": UTC_MS, "ended_as": None}
HOT = {"c": 612.4, "age_s": 0.0, "fault": None}
REST = {"stage": "none", "tell": "", "number": 0, "sentence": "", "act": ""}
FIRING = made(
    STOPPED, state="running", heat=ALLOWED, firing=RUN, heat_number="A-097", hot_junction=HOT, attendance=REST
)
COLD = made(STOPPED, attendance=REST)
TRIPPED = made(FIRING, state="aborted", heat=PROVED, alarms=[alarm()])


@dataclass
class Supervisor:
    """Says one snapshot a second, or nothing; keeps every message that the messenger would send."""

    shown: dict[str, Any] | None = None
    memory: Memory = field(default_factory=Memory)
    sent: list[Message] = field(default_factory=list)
    now_s: float = 1000.0
    spoke_s: float = 1000.0

    def say(self, snapshot: dict[str, Any], seconds: float = 1.0, **changes: Any) -> list[Message]:
        """Say this for a while; what was sent meanwhile."""
        found = []
        for _ in range(max(1, round(seconds))):
            self.now_s += 1.0
            self.spoke_s = self.now_s
            self.shown = made(snapshot, utc_ms=self.utc_ms, **changes)
            found += self.look()
        return found

    def be_silent(self, seconds: float) -> list[Message]:
        """Say nothing for a while; what was sent meanwhile."""
        found = []
        for _ in range(round(seconds)):
            self.now_s += 1.0
            found += self.look()
        return found

    def look(self) -> list[Message]:
        messages = decide(self.memory, Heard(self.shown, self.now_s - self.spoke_s, self.now_s, self.utc_ms))
        self.sent += messages
        return messages

    def messenger_starts_again(self) -> None:
        """It knows what it wrote down, and has heard nothing yet."""
        self.memory = remembered(json.loads(json.dumps(self.memory.kept())), self.now_s)
        self.shown, self.spoke_s = None, self.now_s

    @property
    def utc_ms(self) -> int:
        return UTC_MS + round(self.now_s * 1000)


def to(messages: list[Message]) -> list[tuple[str, int, str]]:
    """Order, priority and title of messages, without the furnace's name."""
    return [(each.order, each.priority, each.title.partition(": ")[2]) for each in messages]


def at_work() -> Supervisor:
    supervisor = Supervisor()
    assert supervisor.say(FIRING, 5.0) == []
    return supervisor
