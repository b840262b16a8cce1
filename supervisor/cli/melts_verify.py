"""`meltkeeper melts verify`: whether book and closed firings are as they were written. Writes nothing."""

from pathlib import Path
from typing import Any, NamedTuple

import click

from supervisor.book import melts
from supervisor.book.verifying import Verdict, verify
from supervisor.book.writing import FILE_NAME
from supervisor.cli.data import data_option
from supervisor.cli.opened_book import print_json, reading
from supervisor.logbook.digest import altered
from supervisor.logbook.reading import open_log
from supervisor.refusal import InputRefused

ALTERED = 5


class Closed(NamedTuple):
    """A closed melt whose firing was compared with its closing record."""

    heat_number: str
    fault: str  # empty: it is as it was


@click.command("verify")
@data_option
@click.option("--json", "as_json", is_flag=True, help="Print JSON with the names that docs/logbook.md lists.")
@click.pass_context
def verify_all(context: click.Context, data: Path, as_json: bool) -> None:
    """Verify the book of metal, row by row, and the firing of every closed melt; name the first altered row.

    The digest that is printed stands for the whole book. Whoever owns the file can make a whole chain anew: only a copy
    of the digest kept elsewhere, on paper perhaps, shows that.

    Exit status: 0 all is as it was written, 2 nothing there to verify, 5 something was altered: it is named.
    """
    if not (data / FILE_NAME).is_file():
        raise InputRefused(f"There is no book in {data}: name the data directory with --data.")
    book = verify(data / FILE_NAME)
    closed = _closed(data) if not book.fault else []
    faults = [each for each in closed if each.fault]
    if as_json:
        print_json(_as_json(book, closed))
    else:
        click.echo("\n".join(_lines(book, closed)))
    if book.fault or faults:
        context.exit(ALTERED)


def _closed(data: Path) -> list[Closed]:
    """The firing of every closed melt against the digests in its closing record."""
    found = []
    with reading(data) as book:
        records = [
            (melt.heat_number, melts.last(melts.happened(book, melt.id), "closed"))
            for melt in melts.melts(book)
            if melts.is_closed(book, melt.id)
        ]
    for heat_number, record in records:
        kept = None if record is None else record.detail.get("firing")
        if kept is not None:
            found.append(Closed(heat_number, _fault(data, kept)))
    return found


def _fault(data: Path, kept: dict[str, Any]) -> str:
    try:
        with open_log(data) as log:
            return altered(log, int(kept["id"]), kept)
    except InputRefused as error:
        return str(error)


def _as_json(book: Verdict, closed: list[Closed]) -> dict[str, Any]:
    return {"book": book._asdict(), "closed": [each._asdict() for each in closed]}


def _lines(book: Verdict, closed: list[Closed]) -> list[str]:
    if book.fault:
        return [f"The book was altered: {book.fault}. The {book.rows - 1} rows before it are as they were written."]
    said = [f"The book is as it was written: {book.rows} rows, digest {book.digest}."]
    said += [f"Melt {each.heat_number}: {each.fault}." for each in closed if each.fault]
    good = sum(not each.fault for each in closed)
    said.append(f"Firings of closed melts that are as they were: {good} of {len(closed)}.")
    return said
