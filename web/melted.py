"""What the pages Melts and One melt show of the book: the list, what is still open, where the metal went."""

from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from supervisor.book import closing, firings, ingots, quarantine
from supervisor.book.closing import Status
from supervisor.book.holders import name_of
from supervisor.book.ingots import Ingot
from supervisor.book.melts import melt
from supervisor.book.pedigree import Pedigree
from supervisor.book.tree import label_name
from supervisor.book.writing import Book
from supervisor.logbook.reading import Firing
from supervisor.metal.closing import Balance, Walk, fire_watch
from supervisor.metal.descent import Holder
from web.history import heat_numbers
from web.metal import count_word, number, sentence_case
from web.shelf import flagged, near

BAR_WIDTH = 320.0
LEAST_WIDTH = 2.0
WORDS_OF_A_LINE = 4
PAPER, SIMULATED = "paper", "simulated"


class Line(NamedTuple):
    """A line of the list: one melt, or one firing without metal."""

    name: str
    path: str
    utc_ms: int
    day_sure: bool
    kg: float | None  # of ingots; None: nothing came out yet
    words: str
    more: str
    open: Sequence[str]


class Segment(NamedTuple):
    """A piece of the bar that shows where the metal went."""

    kind: str  # 'ingots', 'dross', 'kept', 'gap'
    kg: float
    x: float
    width: float


class MetalOf(NamedTuple):
    """What the page of one melt shows of its metal."""

    status: Status
    headline: str
    segments: Sequence[Segment]
    ingots: Sequence[tuple[Ingot, str, str]]  # ingot, why it is under quarantine, address of its page
    charged: Sequence[tuple[str, float, str]]  # name, kg, how
    near: str
    flagged: Sequence[str]
    held: str
    walks: Sequence[Walk]


class Lay(NamedTuple):
    """Something that lay in a firing without metal."""

    name: str
    why: str  # dry, warm, age
    proof: str  # what the firing's record proves of it; empty: nothing yet


def lay_in(book: Book, firing_id: int) -> list[Lay]:
    """What lay in a firing without metal, and what that proved."""
    found = []
    for row in firings.lying_in(book, firing_id):
        kind, holder_id, why = str(row["holder_kind"]), int(str(row["holder_id"])), str(row["why"])
        proof = book.one(
            "SELECT held_c, held_s FROM proof WHERE firing_id = ? AND holder_kind = ? AND holder_id = ? AND kind = ?",
            *(firing_id, kind, holder_id, firings.PROVES[why]),
        )
        said = "" if proof is None else f"{proof['held_c']:.0f} °C or more for {proof['held_s'] / 60.0:.0f} min"
        found.append(Lay(name_of(book, (kind, holder_id)), why, said))
    return found


def lines(book: Book, data: Path, found: Sequence[Firing]) -> tuple[list[Line], list[Line]]:
    """Melts and firings without metal, each the newest first."""
    fired = closing.fired(data, found)
    unshown = set(heat_numbers(data)).difference(fired)
    known = {status.melt.heat_number: status for status in closing.statuses(book, fired, unshown, gaps=False)}
    names = _charged_names(book, [status.melt.id for status in known.values()])
    with_metal: list[Line] = []
    without: list[Line] = []
    for firing in found:
        status = known.pop(firing.heat_number or "", None)
        line = _line(firing, status, names)
        (with_metal if firing.heat_number else without).append(line)
    with_metal += [_not_fired(status, names) for status in known.values()]
    return sorted(with_metal, key=lambda line: -line.utc_ms), without


def _line(firing: Firing, status: Status | None, names: dict[int, list[str]]) -> Line:
    kg = status.balance.ingots_kg if status is not None and status.facts.ingots else None
    words = _words(names.get(status.melt.id, [])) if status is not None else firing.profile
    ended = {"open": "running now"}.get(firing.state, firing.state)
    if firing.first_cause:
        ended += f" by {firing.first_cause.replace('-', ' ')}"
    more = "from paper" if firing.backend == PAPER else ended
    if firing.backend == SIMULATED:
        more += "; simulated"
    sentences = [each.sentence for each in status.open] if status is not None else []
    name = firing.heat_number or f"No. {firing.id}"
    return Line(name, f"/melts/{firing.id}", firing.started_utc_ms, firing.clock_confirmed, kg, words, more, sentences)


def _not_fired(status: Status, names: dict[int, list[str]]) -> Line:
    name = status.melt.heat_number
    return Line(
        name,
        f"/melts/{name}",
        status.melt.utc_ms,
        True,
        status.balance.ingots_kg if status.facts.ingots else None,
        _words(names.get(status.melt.id, [])),
        "charged, not fired",
        [each.sentence for each in status.open],
    )


def _charged_names(book: Book, melt_ids: Sequence[int]) -> dict[int, list[str]]:
    """What was charged into each melt: names of lots, and of ingots."""
    found: dict[int, list[str]] = {}
    for row in book.raw(
        "SELECT m.to_id, coalesce(d.name, 'ingot ' || e.heat_number || '/' || i.number, 'metal from ' || k.heat_number,"
        " 'found in the pot')"
        " FROM moves m LEFT JOIN melt k ON m.from_kind = 'melt' AND k.id = m.from_id"  # a heel, or a charge that stayed
        " LEFT JOIN lot_description d ON m.from_kind = 'lot'"  # the newest; the view `lots` would weigh each bin
        " AND d.id = (SELECT max(n.id) FROM lot_description n WHERE n.lot_id = m.from_id)"
        " LEFT JOIN ingot i ON m.from_kind = 'ingot' AND i.id = m.from_id LEFT JOIN melt e ON e.id = i.melt_id"
        " WHERE m.to_kind = 'melt' AND m.to_id BETWEEN ? AND ? ORDER BY m.kg DESC",
        *(min(melt_ids, default=0), max(melt_ids, default=0)),
    ):
        found.setdefault(row[0], []).append(str(row[1]))
    return found


def _words(names: Sequence[str]) -> str:
    """What a melt was made of, in few words: the most of it first."""
    parts = list(dict.fromkeys(names))
    if not parts:
        return ""
    first = " ".join(parts[0].split()[:WORDS_OF_A_LINE])
    return first if len(parts) == 1 else f"{first} and {count_word(len(parts) - 1)} more"


def verdict(melts: Sequence[Line], without: Sequence[Line]) -> tuple[str, str]:
    """Headline and lead of the list."""
    if not melts and not without:
        return "No melt yet.", "Plan one, or choose a profile on the first page; what it does is kept here."
    kg = sum(line.kg or 0.0 for line in melts)
    out = f", {kg:.1f} kg of ingots" if kg else ""
    headline = f"{number(len(melts), 'melt')}{out}." if melts else f"{number(len(without), 'firing')}, none with metal."
    opened = [line.name for line in melts if line.open]
    lead = f"{number(len(opened), 'record is', 'records are')} open: {', '.join(opened[:5])}." if opened else ""
    return sentence_case(headline), sentence_case(lead)


def metal_of(book: Book, data: Path, heat_number: str) -> MetalOf | None:
    """What the book holds of one melt; None: nothing."""
    if book.one("SELECT 1 FROM melt WHERE upper(heat_number) = ?", heat_number.strip().upper()) is None:
        return None
    found = melt(book, heat_number)
    status = closing.status(book, found, closing.fired(data))
    held = quarantine.state(book)
    composition = Pedigree(book, held.ledger).of(found.holder)
    cast = ingots.ingots(book, found.id)
    over = status.facts.over_utc_ms
    return MetalOf(
        status,
        _headline(status),
        segments(status.balance) if status.facts.ingots or status.facts.dross_told else (),
        [(each, held.why(each.holder), f"/ingots/{label_name(each.name)}") for each in cast],
        [
            (held.names.get(move.source, "found in the pot"), move.kg, move.how)
            for move in held.ledger.into(found.holder)
        ],
        near(composition),
        flagged(composition),
        held.why(Holder("melt", found.id)),
        () if over is None or status.facts.paper else fire_watch(over, status.facts.walks_utc_ms),
    )


def _headline(status: Status) -> str:
    """What came of it, in a sentence."""
    facts = status.facts
    if facts.ingots:
        weighed = facts.ingots - len(facts.unweighed)
        kg = f", {status.balance.ingots_kg:.2f} kg" if weighed else ", not weighed"
        return sentence_case(f"{number(facts.ingots, 'ingot')}{kg}.")
    if facts.pot == "put back":
        return "The charge went back to its bins."
    if facts.pot == "heel left":
        return "The metal is still in the pot."
    return "Poured; no ingot is entered yet." if facts.poured else ""


def segments(balance: Balance) -> list[Segment]:
    """The bar: each part as wide as its share of what went in."""
    parts = (
        ("ingots", balance.ingots_kg),
        ("kept", balance.kept_kg + balance.other_kg),
        ("dross", balance.dross_kg + balance.splash_kg),
        ("gap", max(0.0, balance.gap_kg)),
    )
    whole_kg = sum(kg for _, kg in parts)
    out, x = [], 0.0
    for kind, kg in parts:
        if kg > 0.0 and whole_kg > 0.0:
            width = max(LEAST_WIDTH, BAR_WIDTH * kg / whole_kg)
            out.append(Segment(kind, kg, round(x, 1), round(width, 1)))
            x += width
    return out
