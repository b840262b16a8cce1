"""`meltkeeper stop`: stop heating, and go on until it is proved or nobody can say so."""

import getpass
from pathlib import Path

import click

from hardware.clock import monotonic_s, sleep_s
from supervisor.cli.melts import data_option
from supervisor.cli.status import NoAnswer
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent

TRIES_FOR_S = 15.0
AGAIN_AFTER_S = 2.0
"""A stop that is not proved by then is sent again."""

NOT_CONFIRMED = "Not confirmed: switch off at the furnace."


@click.command()
@data_option
def command(data: Path) -> None:
    """Stop heating. Sent again until the furnace is proved off, 15 s at most.

    Exit status: 0 off and proved, 4 not confirmed: switch off at the furnace.
    """
    link, end_s, told = Link(data / SOCKET_NAME), monotonic_s() + TRIES_FOR_S, ""
    while monotonic_s() < end_s:
        try:
            answer = link.send({"command": "stop", "who": getpass.getuser(), "where": "command line"})
            if answer.sentence != told:
                click.echo(answer.sentence)
                told = answer.sentence
            if _proved(link, monotonic_s() + AGAIN_AFTER_S):
                click.echo("Off, proved.")
                return
        except LinkSilent as error:
            if str(error) != told:
                click.echo(str(error), err=True)
                told = str(error)
            sleep_s(1.0)
    raise NoAnswer(NOT_CONFIRMED)


def _proved(link: Link, until_s: float) -> bool:
    """Whether the contactor is seen to be open, before then."""
    for snapshot in link.watch():
        if snapshot["heat"]["off"] == "proved" and snapshot["age_s"] < 1.0:
            return True
        if monotonic_s() >= until_s:
            return False
    return False
