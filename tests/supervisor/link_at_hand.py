"""What the tests of the link share: a clock, a first snapshot, and a loop that accepts everything."""

from typing import Any

from supervisor.firing.commands import Answer, By, Command, Hold, Lower, Stop
from supervisor.firing.profile import Profile
from supervisor.link.server import LinkServer
from tests.supervisor.wire import Wire

SNAPSHOT: dict[str, Any] = {"v": 1, "epoch": 12, "state": "stopped"}


class Now:
    """A clock that only a test moves."""

    def __init__(self) -> None:
        self.s = 1000.0

    def __call__(self) -> float:
        return self.s


def no_profile(_: str) -> Profile:
    raise ValueError("segments is missing; allowed: at least one.")


def said(kind: type[Hold | Stop | Lower], own_id: str, who: str = "Ada") -> Command:
    by = By(own_id, who, "page")
    return Lower(by, 5.0) if kind is Lower else Stop(by) if kind is Stop else Hold(by)


def turn(server: LinkServer) -> list[Command]:
    """One turn of a loop that accepts everything."""
    taken = server.take()
    for ticket in taken:
        server.answer(ticket, Answer(ticket.command.by.id, True, "Done."), 13)
    return [ticket.command for ticket in taken]


def waited_turn(server: LinkServer, wire: Wire) -> list[Command]:
    """A turn that begins when everything said so far has been heard."""
    wire.settle()
    return turn(server)
