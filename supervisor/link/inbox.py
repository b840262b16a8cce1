"""Commands on their way from the link to the loop, and what became of them on their way back.

The link's thread puts in and the loop's thread takes out; neither ever waits for the other. Stops have a queue of their
own, which is emptied whole: several stops that wait for the same turn act as one and are each answered.
"""

from collections import OrderedDict, deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, NamedTuple, TypeVar

from supervisor.firing.commands import Answer, Command, Lower, Stop

MOST_WAITING = 64
"""Commands that may wait; further ones are refused at once."""
MOST_LOWERING = 256
"""Lowering is not refused for a crowd of others; so many may wait."""
MOST_A_TURN = 8
"""Commands that the loop takes in one turn, stops not counted: a crowd never makes a turn long."""
MOST_STOPS = 4096
"""Stops that may wait. Any one of them does it; further ones are told so."""
MOST_STOPPERS = 4
"""Senders of a stop whose names one turn keeps."""
REMEMBERED_S = 60.0
"""So long the same id gets the same answer and acts once."""
MOST_REMEMBERED = 4096

Sender = TypeVar("Sender")


@dataclass(slots=True, eq=False)
class Reply(Generic[Sender]):
    """An answer, or who waits for it and under which id each of them asked."""

    waiting: list[tuple[Sender, str]]
    answer: Answer | None = None
    epoch: int | None = None  # after the answer; None: as it is now


class Ticket(NamedTuple, Generic[Sender]):
    """One command for the loop to judge, and where its answer goes."""

    command: Command
    reply: Reply[Sender]


class _Known(NamedTuple, Generic[Sender]):
    reply: Reply[Sender]
    line: int  # its hash: a profile is long
    since_s: float


class Inbox(Generic[Sender]):
    """Waiting commands. `post` is called by the link's thread alone, `take` by the loop's alone."""

    def __init__(self, monotonic_s: Callable[[], float]) -> None:
        self._now_s = monotonic_s
        self._stops: deque[Ticket[Sender]] = deque()
        self._others: deque[Ticket[Sender]] = deque()
        self._known: OrderedDict[tuple[str, str], _Known[Sender]] = OrderedDict()

    def post(self, command: Command, sender: Sender, line: bytes) -> Reply[Sender]:
        """Let a command wait for the loop. The reply has its answer already where none has to be waited for.

        line: the message as it came, by which a repetition is told from another message under the same id.
        """
        if isinstance(command, Stop):
            if len(self._stops) >= MOST_STOPS:
                return _at_once(command, True, "A stop is waiting for the supervisor already.")
            reply = Reply([(sender, command.by.id)])
            self._stops.append(Ticket(command, reply))
            return reply
        key = (command.by.who, command.by.id)
        known = self._recall(key)
        if known is not None:
            return self._again(known, command, sender, line)
        if len(self._others) >= (MOST_LOWERING if isinstance(command, Lower) else MOST_WAITING):
            return _at_once(command, False, "Too many commands are waiting. A stop is taken at any time.")
        reply = Reply([(sender, command.by.id)])
        self._others.append(Ticket(command, reply))
        self._known[key] = _Known(reply, hash(line), self._now_s())
        return reply

    def _recall(self, key: tuple[str, str]) -> _Known[Sender] | None:
        latest_s = self._now_s() - REMEMBERED_S
        while self._known and (
            len(self._known) >= MOST_REMEMBERED or next(iter(self._known.values())).since_s < latest_s
        ):
            self._known.popitem(last=False)
        return self._known.get(key)

    def _again(self, known: _Known[Sender], command: Command, sender: Sender, line: bytes) -> Reply[Sender]:
        if known.line != hash(line):
            sentence = f"id {command.by.id} was used for another message within the last minute; allowed: a new id."
            return _at_once(command, False, sentence)
        if known.reply.answer is None:
            known.reply.waiting.append((sender, command.by.id))
        return known.reply

    def take(self) -> list[Ticket[Sender]]:
        """What the loop judges in this turn: all waiting stops first, then the next few of the others."""
        turn: list[Ticket[Sender]] = []
        stoppers: dict[tuple[str, str], Ticket[Sender]] = {}
        for _ in range(len(self._stops)):
            stop = self._stops.popleft()
            by = stop.command.by
            same = stoppers.get((by.who, by.where)) or (turn[0] if len(turn) >= MOST_STOPPERS else None)
            if same is None:
                stoppers[by.who, by.where] = stop
                turn.append(stop)
            else:
                same.reply.waiting.extend(stop.reply.waiting)
        for _ in range(min(MOST_A_TURN, len(self._others))):
            turn.append(self._others.popleft())
        return turn


def _at_once(command: Command, accepted: bool, sentence: str) -> Reply[Sender]:
    return Reply([], Answer(command.by.id, accepted, sentence))
