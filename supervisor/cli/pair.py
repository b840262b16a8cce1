"""`meltkeeper pair`: a one-time code that pairs a phone."""

from pathlib import Path

import click

from hardware.clock import utc_ms
from supervisor.cli.melts import data_option
from supervisor.cli.web import pairing_lines, shown_host
from supervisor.refusal import InputRefused
from web.book import Book
from web.pairing import new_code


@click.command()
@data_option
@click.option("--host", default="0.0.0.0", show_default=True, help="Address where the pages listen.")
@click.option("--port", type=click.IntRange(1, 65535), default=8080, show_default=True, help="Port of the pages.")
def command(data: Path, host: str, port: int) -> None:
    """Show a code that pairs one phone within five minutes; any older code dies. Switches nothing.

    Enter it on the page Pair. A paired phone may ask for a start, hold, go on; heat still needs the button at the
    furnace. Without a code anybody who reaches the pages may look, stop and lower.

    Exit status: 0 done, 2 there is no such data directory.
    """
    if not data.is_dir():
        raise InputRefused(f"There is no data directory {data}: name it with --data.")
    click.echo(pairing_lines(new_code(Book(data / "book.db"), utc_ms()), f"http://{shown_host(host)}:{port}/"))
