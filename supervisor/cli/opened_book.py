"""The book of metal as commands open it: to read, or for one transaction in the name of whoever typed the command."""

import contextlib
import getpass
import sqlite3
from collections.abc import Iterator
from functools import partial
from pathlib import Path

from hardware.clock import utc_ms
from supervisor.book.writing import FILE_NAME, Book, open_book, read_book
from supervisor.cli.printing import print_json as print_json  # what is read is printed: both from here
from supervisor.link.cold import is_cold
from supervisor.refusal import InputRefused


@contextlib.contextmanager
def writing(data: Path) -> Iterator[Book]:
    """Open the book of a data directory for one transaction.

    Raises:
        InputRefused: there is no such directory, or the book cannot be written.
    """
    _refuse_no_directory(data)
    file = data / FILE_NAME
    try:
        now_ms, user = utc_ms(), getpass.getuser()
        cold = partial(is_cold, data, now_ms)
        with open_book(file, who=user, sent_from="command line", utc_ms=now_ms, cold=cold) as book:
            yield book
    except sqlite3.Error as error:
        raise InputRefused(f"{file} cannot be written ({error}); nothing was.") from error


@contextlib.contextmanager
def reading(data: Path) -> Iterator[Book]:
    """Open the book of a data directory to read.

    Raises:
        InputRefused: there is no such directory, or the book cannot be read.
    """
    _refuse_no_directory(data)
    with read_book(data / FILE_NAME) as book:
        yield book


def _refuse_no_directory(data: Path) -> None:
    if not data.is_dir():
        raise InputRefused(
            f"There is no data directory {data} yet: start its furnace once (meltkeeper run --simulated, to try), or"
            " name another one with --data."
        )
