"""What the snapshot says of alarms: what stands, what was put aside, what sounds, and what every watch does now."""

from typing import Any

from supervisor.alarms.shelf import never_shelved
from supervisor.alarms.standing import Standing
from supervisor.alarms.texts import TEXTS
from supervisor.cycle import Memory
from supervisor.firing.looking import SWITCH_OFF
from supervisor.furnace.description import ONLY_LOOKING
from supervisor.watches import WATCHES

STALE_S = 86_400.0
"""An alarm that has stood for a day is listed as such (a customary measure of alarm systems, from memory)."""


def parts(memory: Memory) -> dict[str, Any]:
    """The parts of the snapshot that are about alarms; docs/link.md says what they hold."""
    alarms, now_s = memory.alarms, memory.belief.monotonic_s
    sounds = alarms.sounding(now_s, at_furnace=False)
    return {
        "alarms": _alarms(memory),
        "shelved": [
            {
                "watch": watch,
                "sentence": TEXTS[watch].sentence,
                "reason": shelf.reason,
                "who": shelf.who,
                "left_s": max(0.0, shelf.until_s - now_s),
                "stands": watch in alarms.standing and alarms.standing[watch].stands,
            }
            for watch, shelf in alarms.shelves.items()
        ],
        "sound": None if sounds is None else {"priority": sounds.priority, "for_s": now_s - sounds.since_s},
        "silent_s": alarms.silent_for_s(now_s),
        "watches": _watches(memory),
    }


def _alarms(memory: Memory) -> list[dict[str, Any]]:
    """What is shown, the most urgent of those in sight first, and each one's followers behind it."""
    now_s, shelves = memory.belief.monotonic_s, memory.alarms.shelves
    shown = {
        name: standing
        for name, standing in memory.alarms.standing.items()
        if standing.shown and standing.number and TEXTS[name].priority and name not in shelves
    }
    ids = {f"{name}/{standing.number}" for name, standing in shown.items()}
    found = [_alarm(memory, name, standing, ids, now_s) for name, standing in shown.items()]
    return sorted(found, key=_most_urgent_first)


def _most_urgent_first(alarm: dict[str, Any]) -> tuple[object, ...]:
    urgency = alarm["priority"], alarm["act_within_s"]
    return alarm["folded"], *urgency, not alarm["first_out"], alarm["since_s"]


def _alarm(memory: Memory, name: str, standing: Standing, ids: set[str], now_s: float) -> dict[str, Any]:
    text, own_id = TEXTS[name], f"{name}/{standing.number}"
    consequence, act = text.consequence, text.act
    if memory.furnace.looks_only:  # the texts say what this program does about it, and here it does nothing
        consequence, act = ONLY_LOOKING, f"{SWITCH_OFF} {act}" if text.priority < 3 else act
    led = standing.follows in ids  # a leader that is over and seen leads nobody any more
    why = never_shelved(name, standing.reaction)
    return {
        "id": own_id,
        "watch": name,
        "group": standing.follows or own_id,
        "folded": standing.folded and led,
        "first_out": standing.first_out,
        "priority": text.priority,
        "state": standing.state.value,
        "acknowledged": standing.acknowledged,
        "latched": standing.latched,
        "sentence": text.sentence,
        "consequence": consequence,
        "act": act,
        "act_within_s": text.act_within_s,
        "act_left_s": max(0.0, standing.since_s + text.act_within_s - now_s),
        "evidence": standing.evidence,
        "since_s": standing.since_s,
        "stale": now_s - standing.since_s > STALE_S,
        "chatters": memory.alarms.chatters(name),
        "may_shelve": not why,
        "why_not_shelved": why,
    }


def _watches(memory: Memory) -> dict[str, Any]:
    """How many there are, and which speak or wait for a reset. Titles and where each is asked: ask for `equipment`."""
    standing = memory.alarms.standing
    speak = [watch.id for watch in WATCHES if watch.id in standing and standing[watch.id].active]
    return {"count": len(WATCHES), "speak": [{"id": name, "title": TEXTS[name].title} for name in speak]}
