"""What the snapshot says of attendance: when the next sign is due, who may give it, and how far it is asked for."""

from typing import Any

from supervisor.cycle import Memory
from supervisor.firing.attendance import Attendance, Stage, Task

SENTENCES = {
    Stage.NONE: "No sign is wanted: nothing heats.",
    Stage.ASKED: "Is somebody there?",
    Stage.DUE: "A sign is due that somebody is there.",
    Stage.PHONE: "A sign is due that somebody is there.",
    Stage.SOUNDER: "A sign is due that somebody is there: the furnace sounds.",
    Stage.SECOND: "A sign is due that somebody is there, and nobody has answered.",
    Stage.HOLD: "Nobody answered: the furnace is held.",
    Stage.END: "Nobody came: heat ends.",
}
PRESS = "Go to the furnace and press its button."
TAP = "Tap the range that the chamber is in, or press the button at the furnace."
HERE = "In which of these is the chamber now?"


def attendance(memory: Memory) -> dict[str, Any]:
    """The part of the snapshot; docs/link.md says what it holds. Its times are the snapshot's own clock."""
    known, now_s = memory.firing.attendance, memory.belief.monotonic_s
    stage, due_s, periods = known.stage(now_s), known.due_s, known.periods
    return {
        "number": known.number,
        "stage": stage.word,
        "sentence": _sentence(known, stage),
        "act": "" if stage < Stage.ASKED else PRESS if known.task is None else TAP,
        "tell": "" if stage < Stage.PHONE else "first" if stage < Stage.SECOND else "second",
        "due_s": due_s,
        "hold_s": due_s + periods.hold_after_s if due_s is not None and known.heated else None,
        "end_s": due_s + periods.end_after_s if due_s is not None and known.heated else None,
        "period_s": None if due_s is None else known.period_s,
        "last_by": None if due_s is None else "phone" if known.by_phone else "press",
        "phone_left": known.phone_left,
        "only_presses": due_s is not None and bool(known.why_no_phone),
        "why_no_phone": known.why_no_phone if due_s is not None else "",
        "task": None if known.task is None else _task(known.task),
    }


def _sentence(known: Attendance, stage: Stage) -> str:
    if stage is Stage.NOT_DUE:
        return f"The last sign came from {'a phone' if known.by_phone else 'the button at the furnace'}."
    return SENTENCES[stage]


def _task(task: Task) -> dict[str, Any]:
    choices = [{"choice": n, "low_c": low_c, "high_c": high_c} for n, (low_c, high_c) in enumerate(task.ranges)]
    return {"number": task.number, "sentence": HERE, "choices": choices}
