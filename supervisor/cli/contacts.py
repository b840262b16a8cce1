"""`meltkeeper contacts`: who is told, whether they can be, and the proof that a message arrived."""

import json
from pathlib import Path
from typing import Any

import click

from hardware.clock import monotonic_s, sleep_s
from supervisor.cli.melts import data_option
from supervisor.cli.status import NoAnswer
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent
from supervisor.messenger.words import day
from supervisor.refusal import InputRefused

SENT_WITHIN_S = 40.0
"""Real seconds: one attempt of 10 s an address, and the way there and back."""


@click.group()
def command() -> None:
    """See who is told when something is wrong, send a test message, and confirm that it arrived. Switches nothing.

    Contacts stand in alerts.toml in the data directory: see docs/messages.md. A message may not arrive: nothing that
    protects the furnace waits for one.
    """


@command.command()
@data_option
@click.option("--json", "as_json", is_flag=True, help="Print the part `reach` of the snapshot, as docs/link.md has it.")
def show(data: Path, as_json: bool) -> None:
    """Show every contact: masked addresses, last confirmed test, last failure; and why nobody may go away.

    Exit status: 0 done, 2 alerts.toml cannot be used, 4 the supervisor does not answer.
    """
    reach = _reach(data)
    click.echo(json.dumps(reach, ensure_ascii=False, indent=1) if as_json else "\n".join(lines(reach)))
    if reach["trouble"]:
        raise InputRefused(reach["trouble"])


@command.command()
@click.argument("name")
@data_option
def test(name: str, data: Path) -> None:
    """Send a test message to the contact NAME. It carries a code: have it read back, then `contacts confirm CODE`.

    Exit status: 0 a service took it, 2 there is no such contact or no messenger, 3 it was not delivered, 4 the
    supervisor does not answer.
    """
    before = _contact(_reach(data), name)
    _send(data, {"what": "test wanted", "contact": name})
    until_s = monotonic_s() + SENT_WITHIN_S
    while monotonic_s() < until_s:
        now = _contact(_reach(data), name)
        if now["tested"] != before["tested"]:
            if now["failed_utc_ms"] is not None:
                raise NotDelivered(f"Not delivered to {name}: {now['failed']}")
            click.echo(f"Sent to {name}. Ask {name} for the code in it, then: meltkeeper contacts confirm CODE")
            return
        sleep_s(0.2)
    raise NotDelivered(f"The messenger has not said within {SENT_WITHIN_S:.0f} s what became of the test to {name}.")


@command.command()
@click.argument("code")
@data_option
def confirm(code: str, data: Path) -> None:
    """Confirm that a test message arrived, by the CODE that its receiver reads back. Good for 30 days.

    Exit status: 0 done, 2 no test message of the last day carries this code, 4 the supervisor does not answer.
    """
    click.echo(_send(data, {"what": "confirmed", "code": code}))


class NotDelivered(click.ClickException):
    """Nobody was told: one sentence on standard error, exit status 3."""

    exit_code = 3

    def show(self, file: Any = None) -> None:
        """Print the sentence."""
        click.echo(self.message, file=file, err=True)


def lines(reach: dict[str, Any]) -> list[str]:
    """Contacts in a few lines for a person."""
    if not reach["messenger_alive"]:
        said = ["The messenger does not run: who would be told is not known."]
    else:
        said = [] if reach["contacts"] else ["Nobody is named in alerts.toml: nobody outside is told."]
    for contact in reach["contacts"]:
        confirmed = "never confirmed a test message"
        if contact["confirmed_utc_ms"] is not None:
            on = f"confirmed a test message on {day(contact['confirmed_utc_ms'])}"
            confirmed = on if contact["confirmed"] else f"{on}, which does not count any more"
        quiet = f"; not told of priority {', '.join(map(str, contact['quiet']))}" if contact["quiet"] else ""
        said.append(f"{contact['name']}, {contact['order']} contact: {confirmed}{quiet}")
        said += [f"  {address}" for address in contact["addresses"]]
        if contact["failed_utc_ms"] is not None:
            said.append(f"  Not delivered on {day(contact['failed_utc_ms'])}: {contact['failed']}")
        if contact["code_waits"]:
            said.append("  A test message was sent; its code has not been read back.")
    why = reach["why_not"]
    return [
        *said,
        f"Stay at the furnace while it fires: {why}" if why else "Absence is allowed where the gate allows it.",
    ]


def _reach(data: Path) -> dict[str, Any]:
    try:
        found: dict[str, Any] = Link(data / SOCKET_NAME).snapshot()["reach"]
    except LinkSilent as error:
        raise NoAnswer(str(error)) from error
    return found


def _contact(reach: dict[str, Any], name: str) -> dict[str, Any]:
    found = next((contact for contact in reach["contacts"] if contact["name"] == name), None)
    if found is None:
        names = ", ".join(contact["name"] for contact in reach["contacts"]) or "nobody is in alerts.toml"
        raise InputRefused(f"NAME is {name!r}; allowed: {names}.")
    return dict(found)


def _send(data: Path, message: dict[str, Any]) -> str:
    try:
        answer = Link(data / SOCKET_NAME).send(
            {"command": "told", "who": "command line", "where": "command line", **message}
        )
    except LinkSilent as error:
        raise NoAnswer(str(error)) from error
    if answer.accepted is None:
        raise NoAnswer(answer.sentence)
    if not answer.accepted:
        raise InputRefused(answer.sentence)
    return answer.sentence
