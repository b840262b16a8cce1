"""The command `told`: what the messenger, the page and the command line say of telling people."""

from supervisor.firing import commands as c
from supervisor.firing.reach import read_back, remember
from supervisor.firing.states import LIVE
from supervisor.firing.turn import Turn

EVENT = "told"
"""Kind of the events in the log from which the next run of the supervisor knows who was proved."""


def told(command: c.Told, turn: Turn) -> tuple[str, str]:
    """Take it, and keep what the next run must know as an event. Answer, and why not: one of the two is empty."""
    return _TAKES[command.what](command, turn)


def _contacts(command: c.Told, turn: Turn) -> tuple[str, str]:
    reach = turn.firing.reach
    reach.reported_s = reach.real_s
    if (command.contacts, command.note) != (reach.contacts, reach.trouble):
        reach.contacts, reach.trouble = command.contacts, command.note
        names = [f"{contact.name}, {contact.order}" for contact in command.contacts]
        _keep(command, turn, {"what": command.what.value, "contacts": names, "trouble": command.note})
    return "Known.", ""


def _test(command: c.Told, turn: Turn) -> tuple[str, str]:
    reach = turn.firing.reach
    if not any(contact.name == command.contact for contact in reach.contacts):
        names = ", ".join(contact.name for contact in reach.contacts) or "nobody is in alerts.toml"
        return "", f"contact is {command.contact!r}; allowed: {names}."
    if not reach.messenger_alive:
        return "", "The messenger does not run: nothing can be sent."
    reach.tests += 1
    reach.of(command.contact).wanted = reach.tests
    return f"A test message to {command.contact} is on its way.", ""


def _tested(command: c.Told, turn: Turn) -> tuple[str, str]:
    reach = turn.firing.reach
    known = reach.of(command.contact)
    known.tested, known.wanted = max(known.wanted, known.tested), 0
    known.code_sha256, known.sent_s, reach.wrong_codes = command.code, reach.real_s, 0
    return _happened(command, turn)


def _confirmed(command: c.Told, turn: Turn) -> tuple[str, str]:
    reach = turn.firing.reach
    name = read_back(reach, command.code)
    if name is None:
        return "", "No test message of the last day carries this code. Send another one."
    key = next((contact.key for contact in reach.contacts if contact.name == name), None)
    _happened(command, turn, contact=name, key=key)
    reach.of(name).confirmed_s = reach.real_s
    return f"{name} has confirmed a test message.", ""


def _heard(command: c.Told, turn: Turn) -> tuple[str, str]:
    if turn.firing.state not in LIVE:
        return "", "No firing is on: lamp and sounder are heard at a start."
    turn.firing.reach.heard = True
    return _happened(command, turn)


def _happened(command: c.Told, turn: Turn, **more: object) -> tuple[str, str]:
    detail = {
        "what": command.what.value,
        "contact": command.contact,
        "note": command.note,
        "utc_ms": turn.firing.reach.utc_ms,
        **more,
    }
    remember(turn.firing.reach, detail)
    _keep(command, turn, detail)
    return "Known.", ""


def _keep(command: c.Told, turn: Turn, detail: dict[str, object]) -> None:
    turn.event(EVENT, detail, command.by.who, command.by.where)


_TAKES = {
    c.Telling.CONTACTS: _contacts,
    c.Telling.TEST: _test,
    c.Telling.TESTED: _tested,
    c.Telling.CONFIRMED: _confirmed,
    c.Telling.DELIVERED: _happened,
    c.Telling.FAILED: _happened,
    c.Telling.HEARD: _heard,
}
