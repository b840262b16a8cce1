"""The option that every command on a data directory takes."""

from pathlib import Path

import click

from supervisor.logbook.place import default_directory

DEFAULT_FURNACE = "workshop"

data_option = click.option(
    "--data",
    type=click.Path(path_type=Path),
    default=lambda: default_directory(DEFAULT_FURNACE),
    envvar="MELTKEEPER_DATA",  # the installer's: the one furnace of a Pi
    show_default="~/.local/share/meltkeeper/workshop",
    help="Data directory of the furnace.",
)
