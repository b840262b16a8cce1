"""`meltkeeper backup`: copy log, book and all else of a data directory, while it is in use."""

from collections.abc import Callable
from pathlib import Path

import click

from hardware.clock import utc_ms
from supervisor.cli.data import data_option
from supervisor.cli.opened_book import print_json
from supervisor.copies.backup import KEEP, make
from supervisor.logbook.backups import FOLDER, Backup, backups

ALTERED = 5


@click.command()
@data_option
@click.option(
    "--to",
    "into",
    type=click.Path(path_type=Path),
    show_default=f"{FOLDER} in the data directory",
    help="Where the backups lie: a stick or another disk, best.",
)
@click.option("--keep", type=click.IntRange(1), default=KEEP, show_default=True, help="So many stay; older ones go.")
@click.option("--list", "only_list", is_flag=True, help="List the backups; make none.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON with the names that docs/logbook.md lists.")
@click.pass_context
def command(context: click.Context, data: Path, into: Path | None, keep: int, only_list: bool, as_json: bool) -> None:
    """Back up the records of a furnace, also while it is being fired. Switches nothing.

    The copy counts when it was read back whole and every row was verified; until then the earlier backups stay as they
    are. A backup on the same card goes with the card: name another place, or copy it there. It holds the names of
    people, paired phones and contacts: keep it as you keep a key.

    Exit status: 0 done, 2 it cannot be done, 5 the records themselves were altered: named, and backed up all the same.
    """
    place = into or data / FOLDER
    found = backups(place) if only_list else [make(data, place, utc_ms=utc_ms(), keep=keep, tell=_tell(as_json))]
    if as_json:
        print_json({"backups": [{**each._asdict(), "path": str(each.path)} for each in found]})
    else:
        click.echo("\n".join(map(_line, found)) or f"There is no backup in {place}.")
    if not only_list and found[0].fault:
        context.exit(ALTERED)


def _tell(as_json: bool) -> Callable[[str], None]:
    return (lambda words: None) if as_json else (lambda words: click.echo(f"{words} ...", err=True))


def _line(found: Backup) -> str:
    log, book = found.log or {}, found.book
    rows = f"{log.get('rows', 0) + log.get('unsealed', 0)} rows of the log"
    rows += f", {book['rows']} of the book" if book is not None else ", no book"
    said = f"{found.path}: {found.furnace}, {found.made}, {rows}"
    return f"{said}. ALTERED before it was copied: {found.fault}." if found.fault else f"{said}, verified."
