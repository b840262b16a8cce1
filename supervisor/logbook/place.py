"""Where a data directory lies, and who writes to it now."""

import contextlib
import fcntl
import os
import struct
import sys
from collections.abc import Iterator
from pathlib import Path

from supervisor.refusal import InputRefused

LOCK_FILE = "writer.lock"

# A lock of the open file, not of the process (fcntl(2), "open file description locks"): closing another descriptor of
# the file does not lose it, and it can be asked for without being taken: a reader never makes a writer's start fail.
FLOCK = struct.Struct("hhqqi4x")


def default_directory(name: str) -> Path:
    """Where a furnace's records are kept when nobody says otherwise."""
    return Path.home() / ".local" / "share" / "meltkeeper" / name


@contextlib.contextmanager
def hold_lock(path: Path) -> Iterator[None]:
    """Hold a data directory's lock.

    Raises:
        InputRefused: another program holds it; the sentence names it.
        OSError: the lock's file cannot be written.
    """
    with (path / LOCK_FILE).open("a+", encoding="utf-8") as file:
        try:
            fcntl.fcntl(file, fcntl.F_OFD_SETLK, _whole_file(fcntl.F_WRLCK))
        except BlockingIOError:
            raise InputRefused(
                f"{path} is being written by {_holder(path)}; one program at a time may write it."
            ) from None
        file.truncate(0)
        file.write(f"{os.getpid()} {' '.join([Path(sys.argv[0]).name, *sys.argv[1:]])}\n")
        file.flush()
        try:
            yield
        finally:
            file.truncate(0)  # the lock itself ends with the file, also when the program is killed


def _whole_file(kind: int) -> bytes:
    return FLOCK.pack(kind, os.SEEK_SET, 0, 0, 0)


def _holder(path: Path) -> str:
    pid, _, what = (path / LOCK_FILE).read_text(encoding="utf-8", errors="replace").strip().partition(" ")
    return f"process {pid} ({what})" if pid else "another program"


def is_being_written(path: Path) -> bool:
    """Whether a program holds the lock of a data directory now. Takes no lock itself."""
    try:
        with (path / LOCK_FILE).open("rb") as file:
            answer = fcntl.fcntl(file, fcntl.F_OFD_GETLK, _whole_file(fcntl.F_RDLCK))
    except OSError:
        return False
    found: int = FLOCK.unpack(answer)[0]
    return found != fcntl.F_UNLCK
