"""`meltkeeper melts enter`: past melts from a paper book, marked so, without samples."""

import getpass
from pathlib import Path
from typing import TextIO

import click

from supervisor.book import paper
from supervisor.cli.data import data_option
from supervisor.cli.opened_book import writing
from supervisor.logbook.paper import PaperFiring, write_firings
from supervisor.logbook.reading import open_log
from supervisor.refusal import InputRefused


@click.command("enter")
@click.argument("heat_number", required=False)
@click.option("--on", "day", default="", help="The day, as 2025-03-08.")
@click.option(
    "--in", "charged", multiple=True, metavar="'KG WHAT'", help=f"What went in: {paper.EXAMPLE}. May be repeated."
)
@click.option("--ingot", "ingots_kg", multiple=True, metavar="KG", help="An ingot; may be repeated.")
@click.option("--dross", default="", metavar="KG", help="Dross.")
@click.option("--minutes", default="", help="How long it took.")
@click.option("--kwh", default="", help="Energy that it took.")
@click.option("--maker", default="", help="Who cast it.")
@click.option("--note", default="", help="Anything else.")
@click.option(
    "--file", "table", type=click.File(encoding="utf-8"), help=f"A table (CSV) instead: {', '.join(paper.COLUMNS)}."
)
@data_option
def enter(
    heat_number: str | None,
    day: str,
    charged: tuple[str, ...],
    ingots_kg: tuple[str, ...],
    dross: str,
    minutes: str,
    kwh: str,
    maker: str,
    note: str,
    table: TextIO | None,
    data: Path,
) -> None:
    """Enter a past melt from paper, or a whole table of them; all of it or nothing.

    Such melts are marked 'from paper': they have no curve, nothing is learned from them, and nobody is asked to walk
    round for them. A heat number is used once, for ever.

    Exit status: 0 done, 2 refused input, or a supervisor runs on this data directory.
    """
    if (heat_number is None) == (table is None):
        raise InputRefused("Give a heat number, or a table with --file; one of the two.")
    if table is not None:
        found = paper.from_csv(table)
    else:
        number = heat_number or ""
        found = [paper.paper_melt(number, day, charged, ingots_kg, dross, minutes, kwh, maker, note)]
    firings = [PaperFiring(each.heat_number, each.day, each.minutes, each.energy_wh, each.note) for each in found]
    with writing(data) as book:
        furnace = _furnace(data)
        for each in found:
            paper.enter(book, furnace, each)
        write_firings(data, firings, getpass.getuser())  # inside: a refusal undoes the book's part
    click.echo(f"{len(found)} melt{'s' if len(found) != 1 else ''} entered from paper.")


def _furnace(data: Path) -> str:
    try:
        with open_log(data) as log:
            return log.furnace()
    except InputRefused:
        return "unknown"
