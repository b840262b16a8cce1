"""Ingots: counted, weighed, judged at the machine, used up or returned as scrap; each by its name, 'A-087/3'."""

import json
from collections.abc import Sequence
from typing import Any, NamedTuple

from supervisor.book import melts, typed
from supervisor.book.holders import OUTSIDE, left_kg, mend, move
from supervisor.book.melts import MOST_INGOTS, Melt
from supervisor.book.proofs import ended
from supervisor.book.typed import LONGEST_TEXT
from supervisor.book.writing import Book
from supervisor.metal.descent import Holder
from supervisor.refusal import InputRefused

MORE_IN_IT = "more was put to it"
"""Ends a lot's proof of dryness: nobody knows whether what came to it is dry."""

SCORES = {1: "unusable", 2: "poor", 3: "fair", 4: "good", 5: "best"}


class Ingot(NamedTuple):
    """One ingot and what is left of it."""

    id: int
    name: str
    melt_id: int
    heat_number: str
    number: int
    maker: str
    note: str
    mould_id: int | None
    local_date: str  # of its melt
    backend: str
    utc_ms: int
    cast_kg: float | None  # None: counted and not weighed yet
    left_kg: float
    score: int | None  # of the newest machining note
    cut: str  # what that note says

    @property
    def holder(self) -> Holder:
        """The same, as a holder of metal."""
        return Holder("ingot", self.id)

    @property
    def is_gone(self) -> bool:
        """Used up, sold, lost or returned, to the last gram."""
        return self.cast_kg is not None and self.left_kg <= 0.0

    @property
    def status(self) -> str:
        """Where it is, in two words; quarantine is told beside it."""
        if self.cast_kg is None:
            return "not weighed"
        if self.is_gone:
            return "used up"
        return "on the shelf" if self.left_kg >= self.cast_kg - 1e-6 else "begun"


_INGOTS = """
    SELECT i.id, m.heat_number || '/' || i.number AS name, i.melt_id, m.heat_number, i.number, i.maker, i.note,
           i.mould_id, m.local_date, m.backend, i.utc_ms,
           (SELECT sum(kg) FROM moves WHERE to_kind = 'ingot' AND to_id = i.id) AS cast_kg,
           coalesce((SELECT sum(kg) FROM moves WHERE to_kind = 'ingot' AND to_id = i.id), 0)
           - coalesce((SELECT sum(kg) FROM moves WHERE from_kind = 'ingot' AND from_id = i.id), 0) AS left_kg,
           e.score, coalesce(json_extract(e.detail, '$.text'), '') AS cut
    FROM ingot i JOIN melt m ON m.id = i.melt_id
    LEFT JOIN ingot_event e ON e.id = (SELECT max(id) FROM ingot_event n WHERE n.ingot_id = i.id
        AND n.kind = 'machined' AND NOT EXISTS (SELECT 1 FROM ingot_event c WHERE c.corrects = n.id))"""


def ingots(book: Book, melt_id: int | None = None) -> list[Ingot]:
    """Every ingot, or those of one melt; the newest melt first."""
    order = "ORDER BY i.melt_id DESC, i.number"
    rows = (
        book.rows(f"{_INGOTS} {order}")
        if melt_id is None
        else book.rows(f"{_INGOTS} WHERE i.melt_id = ? {order}", melt_id)
    )
    return [_ingot(row) for row in rows]


def ingot_of(book: Book, ingot_id: int) -> Ingot:
    """One ingot, by its row; for those who found the row in the book."""
    return _ingot(book.rows(f"{_INGOTS} WHERE i.id = ?", ingot_id)[0])


def _ingot(row: dict[str, Any]) -> Ingot:
    left = round(row["left_kg"], 6)
    return Ingot(**{**row, "left_kg": 0.0 if left < 0.0005 else left})


def count(book: Book, found: Melt, masses_kg: Sequence[float | None], maker: str, note: str = "") -> str:
    """Write down the ingots of a melt in the order in which they were poured; a mass may follow later (None).

    Raises:
        InputRefused: too many, a mass that cannot be, or more than is left of the melt.
    """
    melts.refuse_closed(book, found)
    have = len(ingots(book, found.id))
    if not 0 < len(masses_kg) <= MOST_INGOTS - have:
        raise InputRefused(f"ingots is {len(masses_kg)}; allowed: 1 to {MOST_INGOTS - have} (one melt: {MOST_INGOTS})")
    if not typed.text("maker", maker):
        raise InputRefused("maker is empty; allowed: who cast it, 1 to 500 characters")
    for number, kg in enumerate(masses_kg, have + 1):
        row = book.append(
            "ingot",
            melt_id=found.id,
            number=number,
            mould_id=None,
            maker=typed.text("maker", maker),
            note=typed.text("note", note),
        )
        if kg is not None:
            move(book, kg, found.holder, ("ingot", row), "ingot", melt_id=found.id)
    melts.write(book, found, "ingots counted", ingots=len(masses_kg), first=have + 1)
    named = f"{found.heat_number}/{have + 1}"
    last = f" to {found.heat_number}/{have + len(masses_kg)}" if len(masses_kg) > 1 else ""
    return f"{named}{last} counted."


def weigh(book: Book, found: Ingot, kg: float) -> str:
    """Weigh an ingot, or weigh it again: the old mass stays in the book and counts no more.

    Raises:
        InputRefused: a mass that cannot be, more than is left of its melt, or less than was taken of it already.
    """
    of = melts.melt_of(book, found.melt_id)
    melts.refuse_closed(book, of)
    old = book.one("SELECT id FROM moves WHERE to_kind = 'ingot' AND to_id = ? AND how = 'ingot'", found.id)
    if old is None:
        move(book, kg, of.holder, found.holder, "ingot", melt_id=of.id)
    else:
        mend(book, old["id"], kg, "weighed again")
    melts.write(book, of, "masses entered", ingot=found.number, kg=kg)
    return f"{found.name}: {kg:.3f} kg."


def machined(book: Book, found: Ingot, score: int, text: str) -> str:
    """Note how an ingot cut: a score from 1 (unusable) to 5 (best) and what was seen.

    Raises:
        InputRefused: another score.
    """
    if score not in SCORES:
        raise InputRefused(f"score is {score}; allowed: 1 to 5 ({', '.join(f'{n} {w}' for n, w in SCORES.items())})")
    _event(book, found, "machined", score, text=typed.text("text", text))
    return f"{found.name}: {SCORES[score]}, noted."


def note(book: Book, found: Ingot, text: str) -> str:
    """Note anything else of an ingot.

    Raises:
        InputRefused: nothing is said, or too much.
    """
    if not typed.text("text", text):
        raise InputRefused(f"note is empty; allowed: 1 to {LONGEST_TEXT} characters")
    _event(book, found, "note", None, text=typed.text("text", text))
    return f"{found.name}: noted."


def photographed(book: Book, found: Ingot, sha256: str) -> None:
    """A photograph joins what was noted of an ingot, beside how it cut: its file's digest leads to it."""
    _event(book, found, "photo", None, sha256=sha256)


def use(book: Book, found: Ingot, kg: float | None, text: str, how: str = "used") -> str:
    """Metal of an ingot became a part, was sold or is lost; kg None: all of it.

    Raises:
        InputRefused: it is not weighed, or there is not so much of it.
    """
    if how not in ("used", "sold", "lost"):
        raise InputRefused(f"how is {how[:40]!r}; allowed: used, sold, lost")
    kg = _as_asked(book, found, kg)
    move(book, kg, found.holder, OUTSIDE, how, note=typed.text("text", text))
    _event(book, found, "used up", None, kg=kg, how=how, text=typed.text("text", text))
    left = left_kg(book, found.holder)
    return f"{found.name}: {kg:.3f} kg {how}, {left:.3f} kg left."


def return_as_scrap(book: Book, found: Ingot, kg: float | None, lot_id: int, text: str = "") -> str:
    """Metal of an ingot goes back to a bin as scrap: the lot that it becomes keeps its descent.

    Raises:
        InputRefused: it is not weighed, or there is not so much of it.
    """
    kg = _as_asked(book, found, kg)
    move(book, kg, found.holder, ("lot", lot_id), "returned", note=typed.text("text", text))
    ended(book, ("lot", lot_id), MORE_IN_IT)
    _event(book, found, "returned", None, kg=kg, lot_id=lot_id, text=typed.text("text", text))
    return f"{found.name}: {kg:.3f} kg returned."


def _as_asked(book: Book, found: Ingot, kg: float | None) -> float:
    if found.cast_kg is None:
        raise InputRefused(f"{found.name} is not weighed yet: weigh it first.")
    left = left_kg(book, found.holder)
    if left <= 0.0:
        raise InputRefused(f"Nothing is left of {found.name}.")
    return left if kg is None else kg


def events(book: Book, ingot_id: int) -> list[dict[str, Any]]:
    """What was noted of an ingot, oldest first."""
    rows = book.rows(
        "SELECT id, kind, score, detail, utc_ms, who FROM ingot_event e WHERE ingot_id = ?"
        " AND NOT EXISTS (SELECT 1 FROM ingot_event c WHERE c.corrects = e.id) ORDER BY id",
        ingot_id,
    )
    return [{**row, "detail": json.loads(row["detail"])} for row in rows]


def _event(book: Book, found: Ingot, kind: str, score: int | None, **detail: Any) -> None:
    text = json.dumps(detail, ensure_ascii=False, allow_nan=False)
    book.append("ingot_event", ingot_id=found.id, kind=kind, score=score, detail=text, corrects=None)
