"""The moulds that a melt's plan names, and whether each is proved dry: for the pour screen, from the book."""

import sqlite3
from typing import NamedTuple

from supervisor.book.melts import melt
from supervisor.book.moulds import KeptMould, moulds
from supervisor.book.proofs import proof_of
from supervisor.book.writing import Book, read_book
from supervisor.metal.dryness import refusal
from supervisor.refusal import InputRefused
from web.config import WebConfig


class Planned(NamedTuple):
    """One mould. wet: why it may take no metal yet; empty: proved dry."""

    code: str
    name: str
    wet: str


def planned(config: WebConfig, heat_number: str | None) -> tuple[Planned, ...]:
    """The moulds of the plan that this melt came from; none where there is no plan, or no book to read."""
    if heat_number is None:
        return ()
    try:
        with read_book(config.book) as book:
            return tuple(_planned(book, each, config.utc_ms()) for each in _of(book, heat_number))
    except (InputRefused, sqlite3.Error):
        return ()


def _of(book: Book, heat_number: str) -> list[KeptMould]:
    plan_id = melt(book, heat_number).plan_id
    chosen = book.rows("SELECT mould_id FROM plan_mould WHERE plan_id = ? ORDER BY id", plan_id)
    known = {each.id: each for each in moulds(book)}
    return [known[row["mould_id"]] for row in chosen if row["mould_id"] in known]


def _planned(book: Book, mould: KeptMould, now_ms: int) -> Planned:
    return Planned(mould.code, mould.name, refusal(mould.name, proof_of(book, ("mould", mould.id)), now_ms))


class Seen(NamedTuple):
    """One mould as the screen draws it. state: dry, not dry or poured."""

    name: str
    state: str


def row(moulds: tuple[Planned, ...], full: list[str]) -> list[Seen]:
    """Every mould that is known of, in the order of the plan. full: those noted as poured."""
    known = {mould.code for mould in moulds}
    found = [
        Seen(mould.code, "poured" if mould.code in full else "not dry" if mould.wet else "dry") for mould in moulds
    ]
    return found + [Seen(name, "poured") for name in full if name not in known]


def free(seen: list[Seen]) -> list[str]:
    """Those that are empty and proved dry."""
    return [mould.name for mould in seen if mould.state == "dry"]


def following(seen: list[Seen]) -> str:
    """The one that is most likely full next: a dry one, or the first that is not poured."""
    empty = [mould.name for mould in seen if mould.state != "poured"]
    return (free(seen) or empty or [str(len(seen) + 1)])[0]
