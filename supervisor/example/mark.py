"""What says that a data directory holds the invented shop: a small file, which every screen goes by."""

import json
from pathlib import Path
from typing import NamedTuple

FILE = "example.json"


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
