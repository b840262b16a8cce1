"""What an archive says of itself: which records were read into it."""

import json
from pathlib import Path
from typing import Any

FILE = "archive.json"
"""In a directory that is an archive: of each record its digest, whether names were kept, and what is likely in it."""


def listed(data: Path) -> dict[str, Any] | None:
    """By heat number, or number of the firing; None: it is no archive."""
    try:
        kept: dict[str, Any] = json.loads((data / FILE).read_text(encoding="utf-8"))
        return kept
    except (OSError, ValueError):
        return None


def names_replaced(data: Path) -> set[str] | None:
    """The melts of an archive whose names were replaced; None: it is none."""
    known = listed(data)
    return None if known is None else {name for name, each in known.items() if each.get("names") != "kept"}
