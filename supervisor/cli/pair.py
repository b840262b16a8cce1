"""`meltkeeper pair`: a one-time code that pairs a phone."""

from pathlib import Path

import click

from hardware.clock import utc_ms
from supervisor.cli.melts import data_option
from supervisor.cli.web import pairing_lines
from supervisor.refusal import InputRefused
from web.book import Book
from web.pairing import new_code


@click.command()
@data_option
def command(data: Path) -> None:
    """Show a code that pairs one phone within five minutes; any older code dies. Switches nothing.

    Enter it on the page Pair. A paired phone may ask for a start, hold, go on; heat still needs the button at the
    furnace. Without a code anybody who reaches the pages may look, stop and lower.

    Exit status: 0 done, 2 there is no such data directory.
    """
    if not data.is_dir():
        raise InputRefused(f"There is no data directory {data}: name it with --data.")
    book = Book(data / "book.db")
    click.echo(pairing_lines(new_code(book, utc_ms()), book.address()))
