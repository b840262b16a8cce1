"""`meltkeeper melts verify`: whether log, book and closed firings are as they were written. Writes nothing."""

from pathlib import Path
from typing import Any, NamedTuple

import click

from supervisor.book import melts, photos
from supervisor.book import verifying as book_verifying
from supervisor.book.writing import FILE_NAME
from supervisor.cli.data import data_option
from supervisor.cli.opened_book import print_json, reading
from supervisor.copies.archive import names_replaced
from supervisor.logbook import verifying as log_verifying
from supervisor.logbook.database import FILE_NAME as LOG_NAME
from supervisor.logbook.digest import altered
from supervisor.logbook.reading import open_log
from supervisor.refusal import InputRefused

ALTERED = 5


class Closed(NamedTuple):
    """A closed melt whose firing was compared with its closing record."""

    heat_number: str
    fault: str  # empty: it is as it was


class Verdict(NamedTuple):
    """Of a whole data directory. None: there is no such file."""

    log: log_verifying.Verdict | None
    book: book_verifying.Verdict | None
    closed: list[Closed]
    photographs: list[str]  # that are missing or were altered, in sentences

    @property
    def is_whole(self) -> bool:
        """Nothing was altered."""
        parts = (self.log, self.book, *self.closed)
        return not self.photographs and not any(each.fault for each in parts if each is not None)


@click.command("verify")
@data_option
@click.option("--json", "as_json", is_flag=True, help="Print JSON with the names that docs/logbook.md lists.")
@click.pass_context
def verify_all(context: click.Context, data: Path, as_json: bool) -> None:
    """Verify the furnace's log and the book of metal, row by row, and the firing of every closed melt.

    The first altered row of each file is named. The digests that are printed stand for the whole files. Whoever owns a
    file can make a whole chain anew: only a copy of the digest kept elsewhere, on paper perhaps, shows that.

    Exit status: 0 all is as it was written, 2 nothing there to verify, 5 something was altered: it is named.
    """
    found = verify(data)
    if as_json:
        print_json(
            {
                "log": found.log and found.log._asdict(),
                "book": found.book and found.book._asdict(),
                "closed": [each._asdict() for each in found.closed],
                "photographs": found.photographs,
            }
        )
    else:
        click.echo("\n".join(_lines(found)))
    if not found.is_whole:
        context.exit(ALTERED)


def verify(data: Path) -> Verdict:
    """Verify everything in a data directory.

    Raises:
        InputRefused: there is neither log nor book, or one cannot be read at all.
    """
    has_log, has_book = (data / LOG_NAME).is_file(), (data / FILE_NAME).is_file()
    if not (has_log or has_book):
        raise InputRefused(f"There is neither log nor book in {data}: name the data directory with --data.")
    book = book_verifying.verify(data / FILE_NAME) if has_book else None
    records = _closing_records(data) if book is not None and not book.fault else []
    replaced = names_replaced(data)
    if replaced is not None:  # an archive: its seals are its own, and rows without names give other digests
        records = [(heat_number, each) for heat_number, each in records if heat_number not in replaced]
    kept = {int(each["seal_id"]): str(each["seal_digest"]) for _, each in records if "seal_id" in each}
    kept = kept if replaced is None else {}
    log = log_verifying.verify(data, kept=kept) if has_log else None
    closed = [Closed(heat_number, _fault(data, each)) for heat_number, each in records]
    return Verdict(log, book, closed, _photographs(data) if book is not None and not book.fault else [])


def _photographs(data: Path) -> list[str]:
    with reading(data) as book:
        return list(photos.faults(book, data))


def _closing_records(data: Path) -> list[tuple[str, dict[str, Any]]]:
    """What the closing record of every closed melt says of its firing."""
    with reading(data) as book:
        found = [
            (melt.heat_number, melts.last(melts.happened(book, melt.id), "closed"))
            for melt in melts.melts(book)
            if melts.is_closed(book, melt.id)
        ]
    return [
        (heat_number, record.detail["firing"])
        for heat_number, record in found
        if record is not None and record.detail.get("firing") is not None
    ]


def _fault(data: Path, kept: dict[str, Any]) -> str:
    try:
        with open_log(data) as log:
            return altered(log, int(kept["id"]), kept)
    except InputRefused as error:
        return str(error)


def _lines(found: Verdict) -> list[str]:
    said = []
    if found.log is not None:
        said += _of_log(found.log)
    if (book := found.book) is not None and book.fault:
        said.append(f"The book was altered: {book.fault}. The {book.rows - 1} rows before it are as they were written.")
    elif book is not None:
        said.append(f"The book is as it was written: {book.rows} rows, digest {book.digest}.")
        said += [f"Melt {each.heat_number}: {each.fault}." for each in found.closed if each.fault]
        said += [f"Photograph {each}." for each in found.photographs]
        good = sum(not each.fault for each in found.closed)
        said.append(f"Firings of closed melts that are as they were: {good} of {len(found.closed)}.")
    return said


def _of_log(log: log_verifying.Verdict) -> list[str]:
    if log.fault:
        return [f"The log was altered: {log.fault}. The {log.rows} rows that were sealed before it are as written."]
    if not log.seals:
        return ["The log is of a layout without seals; its supervisor adds them when the furnace is cold and at rest."]
    said = [f"The log is as it was written: {log.rows} rows, {log.seals} seals, digest {log.digest}."]
    if log.unsealed:
        said.append(
            f"{log.unsealed} of its rows are older than the seals; only the closing records of melts cover them."
        )
    return said
