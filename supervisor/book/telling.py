"""What the book holds of one melt, told as a whole: for the command line, and for the melt's record as a page."""

from pathlib import Path
from typing import Any

from supervisor.book import closing, ingots, melts
from supervisor.book.closing import Status
from supervisor.book.writing import FILE_NAME, Book, read_book


def metal_record(data: Path, heat_number: str | None) -> dict[str, Any] | None:
    """What the book holds of a melt: as `melts show --json` prints it under `metal`; None: nothing."""
    if heat_number is None:
        return None
    with read_book(data / FILE_NAME) as book:
        if book.one("SELECT 1 FROM melt WHERE heat_number = ?", heat_number) is None:
            return None
        return told(book, closing.status(book, melts.melt(book, heat_number), closing.fired(data)))


def told(book: Book, found: Status) -> dict[str, Any]:
    """The same of a melt whose status is known."""
    balance = found.balance
    return {
        "heat_number": found.melt.heat_number,
        "backend": found.melt.backend,
        "cast_on": found.melt.local_date,
        "closed": found.facts.closed,
        "open": [each._asdict() for each in found.open],
        "balance": {**balance._asdict(), "in_kg": balance.in_kg, "out_kg": balance.out_kg, "gap_kg": balance.gap_kg},
        "gap": found.gap,
        "ingots": [
            {"name": each.name, "cast_kg": each.cast_kg, "left_kg": each.left_kg, "status": each.status}
            for each in ingots.ingots(book, found.melt.id)
        ],
        "happened": [each._asdict() for each in found.events],
    }


def metal_lines(record: dict[str, Any]) -> list[str]:
    """The same for a person."""
    balance = record["balance"]
    parts = ("charged", "added", "found", "ingots", "dross", "splash", "kept", "other")
    said = [f"{part} {balance[f'{part}_kg']:.3f} kg" for part in parts if balance[f"{part}_kg"]]
    lines = [f"Metal: {', '.join(said) or 'nothing entered'}. {record['gap']}".rstrip()]
    lines += [f"Ingot {each['name']}: {_left(each)}, {each['status']}." for each in record["ingots"]]
    lines += ["The record is closed."] if record["closed"] else [f"Open: {each['sentence']}" for each in record["open"]]
    return lines


def _left(ingot: dict[str, Any]) -> str:
    return "not weighed" if ingot["cast_kg"] is None else f"{ingot['left_kg']:.3f} of {ingot['cast_kg']:.3f} kg left"
