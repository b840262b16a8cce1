"""What was done in a recorded firing, done again to the memory of its replay: states, presses, notes, other commands.

It follows the record and asks nothing: a command that was refused then is not tried, one that was taken is carried out.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields
from typing import Any

from supervisor.firing import commands as c
from supervisor.firing import proofs, start
from supervisor.firing.carry_out import carry_out
from supervisor.firing.firing import YOU
from supervisor.firing.holds import hold
from supervisor.firing.orders import NAMES
from supervisor.firing.presses import Asked
from supervisor.firing.questions import answer
from supervisor.firing.states import HEATED, Event, State
from supervisor.firing.turn import Turn
from supervisor.watches.finding import Leave

Row = Mapping[str, Any]

SWITCHES = frozenset({"state", "press", "contactor"})
"""Events after which inputs may read otherwise than in the row before."""

NOT_AGAIN = {c.Prepare, c.Start, c.Hold, c.Resume, c.Stop, c.Reset, c.Raise, c.Adopt, c.Attend, c.Told}
"""Commands whose outcome the record tells by itself: a state, a press, a sign, or nothing that a watch sees."""

_KINDS = {name: kind for kind, name in NAMES.items()}


class Done:
    """Commands and events of one firing, in the order of time."""

    def __init__(self, events: Sequence[Row], commands: Sequence[Row]) -> None:
        self._events = sorted(events, key=lambda row: row["t_ms"])
        self._commands = sorted(commands, key=lambda row: row["t_ms"])
        self._raise_k = 0.0

    def ended_by(self, until_ms: float) -> set[str]:
        """What the record names as the end of the firing in what is due up to now."""
        due = [row["detail"] for row in self._events if row["t_ms"] <= until_ms and row["kind"] == "state"]
        ends = [detail for detail in due if detail.get("to") in (State.ABORTING.value, State.STOPPING.value)]
        return {name for detail in ends for name in str(detail.get("why", "")).split(", ")}

    def go_on(self, turn: Turn, until_ms: float) -> None:
        """Do what is due."""
        while self._commands and self._commands[0]["t_ms"] <= until_ms:
            self._command(self._commands.pop(0), turn)
        while self._events and self._events[0]["t_ms"] <= until_ms:
            row = self._events.pop(0)
            if row["kind"] == "press":
                self._press(turn, Asked(row["detail"]["answers"]))
            elif row["kind"] in _EVENTS:
                _EVENTS[row["kind"]](turn, row["detail"])

    def _command(self, row: Row, turn: Turn) -> None:
        kind = _KINDS.get(row["kind"])
        if kind is c.Raise:
            self._raise_k = float(row["detail"].get("by_k", 0.0))
        if kind is None or kind in NOT_AGAIN or not row["accepted"]:
            return
        known = {field.name for field in fields(kind)}
        given = {name: value for name, value in row["detail"].items() if name in known}
        if "epoch" in known:
            given["epoch"] = turn.firing.epoch  # it was the right one, or it would have been refused
        if kind is c.Note:
            given["kind"] = c.NoteKind(given["kind"])
        try:
            carry_out(kind(by=c.By("record", row["who"], row["sent_from"]), **given), turn)
        except TypeError:  # of another version: it lacks what the command needs today
            return

    def _press(self, turn: Turn, asked: Asked) -> None:
        """What a press at the furnace did."""
        firing, run = turn.firing, turn.firing.run
        if run is None or run.closed:
            return
        if asked is Asked.RAISE:
            run.lowered_k = max(0.0, run.lowered_k - self._raise_k)
        if asked in (Asked.START, Asked.RESUME):
            firing.lid.given_back()
            run.hands_in = False
            if not firing.enable:  # until the contactor is seen to be in
                firing.test = start.again(turn.now_s, proves_relay=proofs.told_at_once(turn))
        if asked not in (Asked.START, Asked.RESET):
            answer(turn, asked)


def _state(turn: Turn, detail: Row) -> None:
    """The firing passed to another state; what that brings with it is the table's own."""
    firing, to = turn.firing, State(detail["to"])
    if to is State.HOLDING:
        for name in str(detail.get("why", "")).split(", "):
            you = name == "held by you"
            hold(turn, YOU if you else name, Leave.BY_A_PERSON, 1.0 if you else 0.0)
    if firing.state is not to:
        turn.go(Event(detail["by"]), str(detail.get("why", "")))
    if firing.state is not to:
        firing.state, firing.entered_s = to, turn.now_s
    if to is State.RUNNING:
        firing.enable, firing.test = True, None
    elif to not in HEATED:
        firing.enable = False


def _contactor(turn: Turn, detail: Row) -> None:
    if detail.get("ordered") == "open":
        turn.firing.enable = False


def _boost(turn: Turn, detail: Row) -> None:
    run = turn.firing.run
    if run is not None and "on" in detail:
        run.boost.on = bool(detail["on"])
        run.boost.began = run.boost.began or run.boost.on


def _start_test(turn: Turn, detail: Row) -> None:
    test = turn.firing.test
    if test is not None and not detail.get("passed", True):
        test.failed = str(detail.get("why", "a proof failed"))


def _relay_proof(turn: Turn, detail: Row) -> None:
    """The start's own: those that came later are taken again from what was seen."""
    if detail.get("how") == "at the start":
        result = proofs.Result(detail["result"])
        proofs.keep(turn, proofs.Proof(result, turn.now_s, detail["how"], str(detail.get("evidence", ""))))


def _sign(turn: Turn, detail: Row) -> None:
    turn.firing.attendance.answer(turn.now_s)


_EVENTS: dict[str, Callable[[Turn, Row], None]] = {
    "state": _state,
    "contactor": _contactor,
    "boost": _boost,
    "start test": _start_test,
    "relay proof": _relay_proof,
    "sign": _sign,
}
