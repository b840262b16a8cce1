"""`meltkeeper pair`: a one-time code that pairs a phone."""

import sys
from pathlib import Path

import click

from hardware.clock import utc_ms
from supervisor.cli.melts import data_option
from supervisor.cli.web import pairing_lines
from supervisor.link.cold import is_cold
from supervisor.refusal import InputRefused
from web.book import Book, Happened
from web.pairing import new_code
from web.roles import ROLES


@click.command()
@data_option
@click.option("--look", is_flag=True, help="Pair it to look: it reads every page, stops and lowers.")
@click.option("--picture/--no-picture", default=None, help="Show the picture for a camera too (at a terminal: yes).")
def command(data: Path, look: bool, picture: bool | None) -> None:
    """Show a code that pairs one phone within five minutes; any older code dies. Switches nothing.

    Point the phone's camera at the picture, or enter the code on the page Pair. A phone paired to run may ask for a
    start, hold, go on; heat still needs the button at the furnace. Without a code anybody who reaches the pages sees
    the furnace, stops and lowers.

    Exit status: 0 done, 2 there is no such data directory.
    """
    if not data.is_dir():
        raise InputRefused(f"There is no data directory {data}: name it with --data.")
    book, role = Book(data / "book.db", lambda: is_cold(data, utc_ms())), ROLES[0] if look else ROLES[1]
    code = new_code(book, utc_ms(), role)
    book.remember([Happened("code made", "console", "", "this machine", f"to {role}", utc_ms())])
    shows = sys.stdout.isatty() if picture is None else picture
    click.echo(pairing_lines(code, book.address(), role, picture=shows))
