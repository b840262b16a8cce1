"""`meltkeeper example`: fills a fresh data directory with an invented workshop, fired by the simulator."""

import gc
import signal
import sys
from pathlib import Path

import click

from hardware.clock import monotonic_s, utc_ms
from supervisor.cli.web import EXAMPLES
from supervisor.example import mark
from supervisor.logbook.place import default_directory

NAME = "example"


@click.command()
@click.option(
    "--data",
    type=click.Path(path_type=Path),
    default=lambda: default_directory(NAME),
    show_default="~/.local/share/meltkeeper/example",
    help="Data directory to be made; one that holds anything is refused.",
)
@click.option(
    "--begun",
    is_flag=True,
    hidden=True,
    help="Fill a directory that `run --example` has just made; written into once standard input has ended.",
)
def command(data: Path, begun: bool) -> None:
    """Fill a fresh data directory with an INVENTED workshop: a paper book of 86 heats, bins, and ten melts.

    The ten melts are run by the real supervisor on the simulated furnace, in virtual time, each to an hour after its
    pour, two at a time; what went wrong in them, and what became of their ingots, is told by the pages of each. Every
    page says that it is invented. To see it: meltkeeper run --simulated --example, or meltkeeper web --data DIR.

    Exit status: 0 done, 2 refused input.
    """
    from supervisor.example.fill import fill  # numpy and the simulator are not for --help

    gc.disable()  # it ends in a minute and makes no cycles to speak of; to look for them took a fiftieth of its time
    signal.signal(signal.SIGTERM, lambda number, _: sys.exit(128 + number))  # unwinds, so that its helpers end too
    began_s = monotonic_s()
    if not begun:
        mark.begin(data, utc_ms())

    def tell(heat_number: str, title: str, minutes: float) -> None:
        click.echo(
            f"{heat_number}  {minutes:4.0f} min simulated, there after {monotonic_s() - began_s:3.0f} s: {title}"
        )

    fill(data, EXAMPLES / "ingots-fast.toml", tell, sys.stdin.read if begun else None)
    marked = mark.read(data)
    assert marked is not None
    click.echo(f"{marked.melts} melts of an invented shop in {monotonic_s() - began_s:.0f} s. Data: {data}")
