"""The ballast: a megabyte on disk that stands for nothing else, given up on a full disk so that events can be kept."""

import os
from contextlib import suppress
from pathlib import Path

FILE = "ballast"
BYTES = 1_000_000


def free_bytes(directory: Path) -> int:
    """Room on the disk that a directory lies on.

    Raises:
        OSError: the disk does not say.
    """
    room = os.statvfs(directory)
    return room.f_bavail * room.f_frsize


def make(directory: Path) -> None:
    """Put it there, whole or not at all.

    Raises:
        OSError: there is no room for it.
    """
    try:
        with (directory / FILE).open("ab") as file:
            os.posix_fallocate(file.fileno(), 0, BYTES)
    except OSError:
        spend(directory)
        raise


def spend(directory: Path) -> None:
    """Give it up, if it is there."""
    with suppress(OSError):
        (directory / FILE).unlink()


def spend_if_full(directory: Path) -> None:
    """Give it up where a log could not even be opened without.

    Raises:
        OSError: the disk does not say how full it is.
    """
    if free_bytes(directory) < BYTES:
        spend(directory)
