"""The headline's words for signs that somebody is there: when the next is due, that it is, what follows."""

from supervisor.cycle import Memory
from supervisor.firing.attendance import Stage
from supervisor.firing.states import HEATED, LIVE, State
from supervisor.link.saying import Headline


def with_next_sign(memory: Memory, said: Headline) -> Headline:
    """The headline, and when the next sign is due; nothing is added where it says so itself."""
    attendance, now_s = memory.firing.attendance, memory.belief.monotonic_s
    due_s = attendance.due_s
    if due_s is None:
        return said._replace(next_sign=_none_due(memory))
    in_s = due_s - now_s
    if said.in_s == in_s:
        return said
    here = " at the furnace" if attendance.why_no_phone else ""
    if in_s < 0.0:
        words = f"A sign{here} was due at {{hour}}."
    elif attendance.stage(now_s) >= Stage.ASKED and here:
        words = "Press the button at the furnace by {hour}: you are there."
    else:
        words = f"Next sign{here} by {{hour}}."
    return said._replace(next_sign=words, next_sign_in_s=in_s)


def _none_due(memory: Memory) -> str:
    state = memory.firing.state
    if state in HEATED:  # the first second of a firing
        return "The next sign is reckoned in a moment."
    if state is State.STARTING:
        return "No sign is due before it heats."
    return "No sign is due: no heat any more." if state in LIVE else ""


def sign_asked(memory: Memory) -> Headline:
    """A sign is asked for, and not due yet."""
    attendance, run, now_s = memory.firing.attendance, memory.firing.run, memory.belief.monotonic_s
    if attendance.stage(now_s) < Stage.ASKED and run is not None and run.gate.open_until_s is not None:
        in_s = run.gate.open_until_s - now_s
        return Headline("Press the button at the furnace by", "{hour}", "Else the gate shuts again.", "wanted", in_s)
    in_s = -attendance.overdue_s(now_s)
    if attendance.task is not None:
        what = "Heating. Are" if run is None or run.gate.limit_c is None else "All solid. Are"
        return Headline(f"{what} you", "there?", "Tap what you see, or press, before {hour}.", "wanted", in_s)
    return Headline("Press the button at the furnace by", "{hour}", "A tap does not count.", "wanted", in_s)


def sign_overdue(memory: Memory) -> Headline | None:
    """A sign is overdue while heat is allowed, and it is not held for it yet; None: it is not."""
    attendance, now_s = memory.firing.attendance, memory.belief.monotonic_s
    if not attendance.heated or not Stage.DUE <= attendance.stage(now_s) < Stage.HOLD:
        return None
    in_s = attendance.periods.hold_after_s - attendance.overdue_s(now_s)
    if attendance.task is not None:
        return Headline("Nobody answered. Are you", "there?", "Tap or press: held from {hour}.", "act", in_s)
    return Headline("Overdue. Go to the furnace and", "press:", "held from {hour}.", "act", in_s)


def sign_missed(memory: Memory) -> Headline:
    """It is held because nobody gave a sign."""
    attendance, now_s = memory.firing.attendance, memory.belief.monotonic_s
    if attendance.stage(now_s) < Stage.HOLD:
        return Headline("Held, as nobody answered. Going on needs the", "button:", "hold it 3 s as it asks.", "wanted")
    in_s = attendance.periods.end_after_s - attendance.overdue_s(now_s)
    return Headline("Nobody answered: held. Heat ends", "{hour}", "without a press at the furnace.", "act", in_s)
