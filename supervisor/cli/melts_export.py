"""`meltkeeper melts export` and `import`: the record of one melt as a file, and read back into an archive."""

import io
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from hardware.clock import utc_ms
from supervisor.cli.data import data_option
from supervisor.copies import names
from supervisor.copies.importing import read_file, read_in
from supervisor.copies.record import as_json, record
from supervisor.copies.shown import page_of
from supervisor.logbook.export import write_csv
from supervisor.logbook.reading import open_log
from supervisor.refusal import InputRefused


def _file(name: str, words: str) -> Callable[[Any], Any]:
    return click.option(f"--{name}", metavar="[FILE]", is_flag=False, flag_value="-", help=words)


@click.command("export")
@click.argument("firing", metavar="ID")
@data_option
@_file("csv", "The samples as a table for a spreadsheet; this when nothing else is named.")
@_file("json", "Every row of log and book that belongs to it, as plain text.")
@_file("html", "The same as one page with its curve: opens anywhere, no script, everything inside.")
@click.option("--names", "with_names", is_flag=True, help="Leave the names of people in; JSON and page go without.")
def export_firing(
    firing: str, data: Path, csv: str | None, json: str | None, html: str | None, *, with_names: bool
) -> None:
    """Export one firing and its melt: as a table, as plain rows, as a page.

    ID is the firing's number or its heat number. Without FILE it goes to standard output; an existing file is left
    alone. In JSON and page the names of people are replaced unless you say --names; read the remarks before you send it
    on. Both are read back by 'melts import', and give the same digest then.

    Exit status: 0 done, 2 there is no such firing or the file cannot be written.
    """
    if (csv, json, html) == (None, None, None):
        csv = "-"
    if csv is not None:
        with open_log(data) as log:
            found, text = log.firing(firing), io.StringIO(newline="")
            rows = write_csv(log, found.id, text)
        _put(csv, text.getvalue(), f"{rows} samples of firing {found.id} are in")
    if json is None and html is None:
        return
    whole = record(data, firing, with_names=with_names, known=names.known(data), utc_ms=utc_ms())
    what = f"The record of {whole.heat_number or f'firing {whole.firing}'}, digest {whole.digest}, is in"
    if json is not None:
        _put(json, as_json(whole), what)
    if html is not None:
        _put(html, page_of(whole, utc_ms=utc_ms()), what)


@click.command("import")
@click.argument("files", metavar="FILE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--data", "archive", required=True, type=click.Path(path_type=Path), help="The archive; made where there is none."
)
def import_record(files: tuple[Path, ...], archive: Path) -> None:
    """Read exported records (JSON or page) back into an archive, which every other command of 'melts' reads.

    A record that is not as it was written is refused. An archive is a directory of its own: nothing is ever read into
    the log of a furnace, and no supervisor runs on it.

    Exit status: 0 done, 2 a file is no whole record, or other rows are in the archive under the same keys.
    """
    for file in files:
        found = read_file(file)
        new = read_in(found, archive, utc_ms=utc_ms())
        said = "is in the archive" if new else "was in the archive already"
        click.echo(f"{found.heat_number or f'Firing {found.firing}'} {said}: digest {found.digest}.")


def _put(target: str, text: str, what: str) -> None:
    if target == "-":
        sys.stdout.write(text)
        return
    file = Path(target)
    if not file.name:
        raise InputRefused(f"The file is {target!r}; allowed: its name, or - for standard output.")
    new = file.with_name(f".{file.name}.{os.getpid()}.part")  # a name appears when its file is whole
    try:
        if file.exists():
            raise InputRefused(f"{file} exists and is left alone; name another file.")
        new.write_text(text, encoding="utf-8", newline="")
        new.rename(file)
    except OSError as error:
        new.unlink(missing_ok=True)
        raise InputRefused(f"{file} cannot be written: {error.strerror}.") from error
    click.echo(f"{what} {file}.", err=True)
