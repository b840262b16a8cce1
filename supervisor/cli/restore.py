"""`meltkeeper restore`: put a backup back."""

from pathlib import Path

import click

from hardware.clock import utc_ms
from supervisor.cli.data import data_option
from supervisor.copies.restore import restore
from supervisor.logbook.backups import FOLDER, last_good
from supervisor.refusal import InputRefused


@click.command()
@click.argument("backup", type=click.Path(path_type=Path), required=False)
@data_option
@click.option(
    "--looked", is_flag=True, help="You have looked at the furnace and it is cold, though the log does not say so."
)
def command(backup: Path | None, data: Path, looked: bool) -> None:
    """Put a backup back: log and book together, or neither. Switches nothing.

    BACKUP is the directory of one backup; without it, the newest one beside the records in which nothing was altered.
    Stop the supervisor first: it is refused while one runs, and while the furnace is not known to be cold. What was
    there is moved aside, not deleted. What happened since the backup is unknown then: the next supervisor asks for a
    reset at the furnace.

    Exit status: 0 done, 2 it cannot be done; the records are as they were.
    """
    if backup is None:
        newest = last_good(data)
        if newest is None:
            raise InputRefused(f"There is no good backup in {data / FOLDER}: name the directory of one.")
        backup = newest.path
    found, aside = restore(backup, data, utc_ms=utc_ms(), anyway=looked)
    click.echo(f"The backup of {found.made} is back in {data}.")
    if found.fault:
        click.echo(f"It was altered before it was backed up: {found.fault}.")
    if aside is not None:
        click.echo(f"What was there lies in {aside}.")
    click.echo("What the furnace did since then is unknown: the next supervisor asks for a reset there.")
