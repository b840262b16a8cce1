"""What the snapshot says of attendance: when the next sign is due, who may give it, and how far it is asked for."""

from typing import Any

from supervisor.cycle import Memory
from supervisor.firing.attendance import Attendance, Stage, Task

SENTENCES = {
    Stage.NONE: "No sign is wanted: nothing heats, and the chamber is not hot.",
    Stage.NOT_DUE: "Somebody was there.",
    Stage.ASKED: "Is somebody there?",
    Stage.DUE: "A sign is due now.",
    Stage.PHONE: "A sign is due now.",
    Stage.SOUNDER: "A sign is due: the furnace sounds.",
    Stage.SECOND: "A sign is due: the second contact is told.",
    Stage.HOLD: "Nobody answered: it is held.",
    Stage.END: "Nobody came: heat ends.",
}
HERE = "Tap the band that the chamber is in."


def attendance(memory: Memory) -> dict[str, Any]:
    """The part of the snapshot; docs/link.md says what it holds. Its times are the snapshot's own clock."""
    known, now_s = memory.firing.attendance, memory.belief.monotonic_s
    stage, due_s = known.stage(now_s), known.due_s
    holds = memory.firing.attendance.heated and due_s is not None
    return {
        "stage": stage.word,
        "sentence": _sentence(known, stage),
        "due_s": due_s,
        "asked_s": None if due_s is None else due_s - known.asks_before_s,
        "hold_s": due_s + known.periods.hold_after_s if holds and due_s is not None else None,
        "end_s": due_s + known.periods.end_after_s if holds and due_s is not None else None,
        "period_s": None if due_s is None else known.period_s,
        "last_by": None if due_s is None else "phone" if known.by_phone else "press",
        "phone_left": known.phone_left,
        "only_presses": due_s is not None and bool(known.why_no_phone),
        "why_no_phone": known.why_no_phone if due_s is not None else "",
        "task": None if known.task is None else _task(known.task),
    }


def _sentence(known: Attendance, stage: Stage) -> str:
    if stage is Stage.NONE or stage >= Stage.HOLD:
        return SENTENCES[stage]
    if stage is Stage.NOT_DUE:
        how = "from a phone" if known.by_phone else "at the furnace"
        return f"The last sign was given {how}."
    return SENTENCES[stage]


def _task(task: Task) -> dict[str, Any]:
    choices = [{"band": n, "low_c": low_c, "high_c": high_c} for n, (low_c, high_c) in enumerate(task.bands)]
    return {"number": task.number, "sentence": HERE, "choices": choices}
