"""`meltkeeper reset`: ask for the reset of a trip. The held press at the furnace does it, and nothing else."""

import getpass
from pathlib import Path

import click

from supervisor.cli.melts import data_option
from supervisor.cli.status import NoAnswer
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent
from supervisor.refusal import InputRefused


@click.command()
@data_option
@click.option("--found", required=True, help="What was found at the furnace.")
@click.option("--looked", default="", help="Who looked at it; a trip that said 'keep away' asks for this.")
@click.option("--seen", default="", help="What was seen there; likewise.")
def command(data: Path, found: str, looked: str, seen: str) -> None:
    """Ask for the reset of a trip, or of what an earlier run left. Resets nothing by itself.

    Go and look first. Then hold the button at the furnace for 3 s within a minute, and let go.

    Exit status: 0 asked, 2 refused, 4 the supervisor does not answer.
    """
    message = {"command": "reset", "found": found, "looked": looked, "seen": seen}
    try:
        answer = Link(data / SOCKET_NAME).send({**message, "who": getpass.getuser(), "where": "command line"})
    except LinkSilent as error:
        raise NoAnswer(f"{error} Nothing was asked.") from error
    if answer.accepted is None:
        raise NoAnswer(answer.sentence)
    if not answer.accepted:
        raise InputRefused(answer.sentence)
    click.echo(answer.sentence)
