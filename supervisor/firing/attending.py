"""Attendance in a cycle: what it is judged on, and what counts as a sign from a phone."""

from supervisor.firing import commands as c
from supervisor.firing.attendance import Periods, Seen, Stage
from supervisor.firing.states import HEATED, State
from supervisor.firing.turn import Turn

POURING = frozenset({State.COMPLETING, State.COMPLETE})
TRIPPED = frozenset({State.ABORTING, State.ABORTED})
LIVE_ACTS = (c.Hold, c.Resume, c.Raise, c.Note)
"""What a person does to a firing from a paired phone: it takes looking. To acknowledge an alarm does not, and to lower
is for whoever reaches the page, paired or not."""


def attend(turn: Turn) -> None:
    """Once a second, and when the state changes: let the time to the next sign run."""
    if turn.furnace.looks_only:
        return  # whoever heats it looks after it
    firing, run, reading_c = turn.firing, turn.firing.run, turn.belief.last_c
    liquid = firing.perhaps_liquid
    attendance = firing.attendance
    before = attendance.hazard
    attendance.periods = _periods(turn)
    attendance.look(
        Seen(
            heated=firing.state in HEATED,
            reading_c=reading_c,
            gate_open=run is not None and run.gate.limit_c is not None and not run.gate.shut,
            liquid=liquid,
            hands=turn.lid_open or (liquid and firing.state in POURING),
            tripped=firing.state in TRIPPED or turn.reaction.keep_away or turn.alarms.latched,
            readers_gone_s=firing.readers_gone_s,
            why_no_phone=firing.reach.why_not or _not_learned(turn),
        ),
        turn.now_s,
    )
    if attendance.hazard is not before:
        detail = {"hazard": attendance.hazard.name.lower(), "due_in_s": _due_in_s(turn)}
        turn.event("attendance", detail)


def _periods(turn: Turn) -> Periods:
    """By the furnace file; while proofs are missing, as short as its stage asks, and by the button alone."""
    periods, run = turn.furnace.attendance, turn.firing.run
    if run is None or not run.caps.attended:
        return periods
    press_s = run.caps.press_s
    return Periods(
        heating_s=min(periods.heating_s, press_s),
        hot_s=min(periods.hot_s, press_s),
        hands_s=min(periods.hands_s, press_s),
        hold_after_s=min(periods.hold_after_s, press_s / 2.0),
        end_after_s=min(periods.end_after_s, press_s),
        phone_answers=0,
    )


def _not_learned(turn: Turn) -> str:
    """A furnace that nothing is learned of is attended throughout: nobody knows how soon it gets where."""
    return "" if turn.firing.adviser.model is not None else "Nothing is learned of this furnace yet."


def no_sign_from_a_phone(turn: Turn) -> str:
    """Why a tap is no sign now; empty: it is one."""
    attendance = turn.firing.attendance
    stage = attendance.stage(turn.now_s)
    if stage is Stage.NONE:
        return "No sign is wanted: nothing heats."
    if attendance.why_no_phone:
        return attendance.why_no_phone
    return "" if attendance.task is not None else "No sign is wanted yet."


def tapped(command: c.Attend, turn: Turn) -> tuple[str, str]:
    """A phone says in which range the chamber is; answer, and why not: one of the two is empty."""
    attendance, reading_c = turn.firing.attendance, turn.belief.last_c
    task = attendance.task
    if task is None or command.task != task.number:
        return "", "That question is over. Look again, then tap."
    turn.firing.change()
    if reading_c is None or command.choice != task.right(reading_c):
        attendance.another_task()
        return "", "The chamber is not at that temperature. Look again, then tap."
    _counts(turn, command.by)
    minutes = round(attendance.period_s / 60.0)
    left = attendance.phone_left
    then = f"{left} more may come from a phone." if left else "The next must be a press at the furnace."
    return f"Seen: you are watching, for {minutes} min. {then}", ""


def acted(command: c.Command, turn: Turn) -> None:
    """A person has acted on the firing from a page while a sign was asked for: that is one, as a tap is."""
    wanted = turn.firing.attendance.task is not None
    if wanted and isinstance(command, LIVE_ACTS) and command.by.where.startswith("page"):
        _counts(turn, command.by)


def _counts(turn: Turn, by: c.By) -> None:
    attendance = turn.firing.attendance
    attendance.answer(turn.now_s)
    detail = {"left": attendance.phone_left, "due_in_s": _due_in_s(turn)}
    turn.event("sign", detail, by.who, by.where)


def _due_in_s(turn: Turn) -> float | None:
    due_s = turn.firing.attendance.due_s
    return None if due_s is None else round(due_s - turn.now_s, 1)
