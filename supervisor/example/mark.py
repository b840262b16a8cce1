"""What says that a data directory holds the invented shop: a small file, which every screen goes by."""

import json
from pathlib import Path
from typing import NamedTuple

from supervisor.refusal import InputRefused

FILE = "example.json"
FURNACE = "workshop"
MELTS = 10


class Marked(NamedTuple):
    """How far the example has come."""

    made_utc_ms: int
    melts: int  # that are there
    of: int

    @property
    def whole(self) -> bool:
        """Everything is there."""
        return self.melts >= self.of


def read(data: Path) -> Marked | None:
    """What a directory says of itself; None: it is no example."""
    try:
        return Marked(**json.loads((data / FILE).read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return None


def write(data: Path, marked: Marked) -> None:
    """Say it, so that whoever reads meanwhile finds the old file or the new one.

    Raises:
        OSError: it cannot be written.
    """
    new = data / f"{FILE}.new"
    new.write_text(json.dumps(marked._asdict()), encoding="utf-8")
    new.replace(data / FILE)


def begin(data: Path, utc_ms: int) -> None:
    """Make the directory, bind it to the simulated furnace A, and mark it.

    Raises:
        InputRefused: it holds something already, or cannot be made.
    """
    from supervisor.logbook.directory import open_directory  # the pages read the mark, and bind nothing

    marked = read(data)
    if marked is not None:
        state = "is there already" if marked.whole else f"was cut short after {marked.melts} of {marked.of} melts"
        raise InputRefused(f"The example in {data} {state}; to make it anew, remove that directory first.")
    try:
        data.mkdir(parents=True, exist_ok=True)
        held = sorted(each.name for each in data.iterdir())
    except OSError as error:
        raise InputRefused(f"{data} cannot be used ({error.strerror}); name another one (--data).") from error
    if held:
        named = ", ".join(held[:3]) + (" and more" if len(held) > 3 else "")
        raise InputRefused(f"--data is {data}, which holds {named}; allowed: a directory that is empty or not there")
    write(data, Marked(utc_ms, 0, MELTS))
    with open_directory(data, backend="simulated", furnace=FURNACE):
        pass
