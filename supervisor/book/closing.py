"""What a melt's record lacks, and its closing: from the book and the furnace's log together.

The list stays open beside the next firing. It never keeps anybody from a start; it keeps a melt from being called
closed.
"""

from collections.abc import Collection, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from supervisor.book import melts, tree, typed
from supervisor.book.holders import OUTSIDE, left_kg, mend, move
from supervisor.book.melts import Happened, Melt
from supervisor.book.writing import Book
from supervisor.logbook import database
from supervisor.logbook.digest import firing_digest, newest_seal
from supervisor.logbook.notes import Noted, of_metal
from supervisor.logbook.reading import Firing, open_log
from supervisor.metal.closing import (
    Balance,
    Facts,
    Open,
    Usual,
    balance,
    fire_watch,
    gap_words,
    may_close,
    still_open,
    usual_gap,
)
from supervisor.metal.descent import Holder, Ledger
from supervisor.refusal import InputRefused

OVER = ("complete", "stopped", "aborted", "interrupted")


class Fired(NamedTuple):
    """What the furnace's log knows of a melt."""

    firing: Firing
    poured_utc_ms: int | None
    additions_kg: float  # as they were noted at the furnace
    moulds: int = 0  # counted as they were filled

    @property
    def over_utc_ms(self) -> int | None:
        """When its metal was out of the furnace or its heat over; None: it goes on."""
        if self.poured_utc_ms is not None:
            return self.poured_utc_ms
        if self.firing.state not in OVER:
            return None
        return self.firing.started_utc_ms + round(1000 * (self.firing.lasted_s or 0.0))


class Status(NamedTuple):
    """A melt, its balance, and what is still open of it."""

    melt: Melt
    fired: Fired | None  # None: it was not fired yet, or is of paper
    events: Sequence[Happened]
    facts: Facts
    open: Sequence[Open]
    usual: Usual | None  # the gap of earlier melts; None: there are too few, or it was not asked for

    @property
    def balance(self) -> Balance:
        """Where its metal came from and went."""
        return self.facts.balance

    @property
    def weighed(self) -> bool:
        """Everything that came out is weighed: only now is what is missing really missing."""
        return bool((self.facts.poured or self.facts.ingots) and self.facts.dross_told and not self.facts.unweighed)

    @property
    def gap(self) -> str:
        """Its gap by its name, in a sentence; empty while something of it is still to be weighed."""
        if not self.weighed:
            return ""
        return gap_words(self.balance, self.usual, past=self.facts.paper)


def fired(data: Path, these: Sequence[Firing] | None = None) -> dict[str, Fired]:
    """What the log of a furnace knows of each heat number; nothing where there is no log.

    these: firings of it that alone are asked for.

    Raises:
        InputRefused: the log cannot be read.
    """
    if not (data / database.FILE_NAME).is_file():
        return {}
    with open_log(data) as log:
        firings = [firing for firing in (log.firings() if these is None else these) if firing.heat_number]
        notes = of_metal(log, [firing.id for firing in firings])
    return {str(firing.heat_number): _fired(firing, notes.get(firing.id, [])) for firing in firings}


def _fired(firing: Firing, notes: Sequence[Noted]) -> Fired:
    pours = [firing.started_utc_ms + note.t_ms for note in notes if note.kind == "pour"]
    added = [note.mass_kg for note in notes if note.kind == "addition"]
    moulds = sum(note.kind == "mould" for note in notes)
    return Fired(firing, pours[0] if pours else None, sum(kg for kg in added if kg), moulds)


def status(book: Book, found: Melt, known: dict[str, Fired]) -> Status:
    """What is open of one melt. known: see `fired`."""
    return _statuses(book, [found], known)[0]


def statuses(book: Book, known: dict[str, Fired], but: Collection[str] = (), *, gaps: bool = True) -> list[Status]:
    """What is open of every melt, the newest first. known: see `fired`. but: heat numbers that are not asked for.

    gaps: whether a gap will be called by its name: for what is usual every closed melt is reckoned.
    """
    return _statuses(book, melts.melts(book, but), known, gaps=gaps)


def _statuses(book: Book, wanted: Sequence[Melt], known: dict[str, Fired], *, gaps: bool = True) -> list[Status]:
    wanted_ids, closed = {each.id for each in wanted}, melts.closed(book) if gaps else set()
    ledger, events = tree.ledger(book, wanted_ids | closed), melts.happened_in(book, wanted_ids)
    usual = usual_gap([balance(ledger, Holder("melt", melt_id)) for melt_id in closed])
    cast: dict[int, list[tuple[int, int]]] = {}
    between = (min(wanted_ids, default=0), max(wanted_ids, default=0))
    for melt_id, *ingot in book.raw(
        "SELECT melt_id, number, id FROM ingot WHERE melt_id BETWEEN ? AND ? ORDER BY melt_id, number", *between
    ):
        cast.setdefault(melt_id, []).append((ingot[0], ingot[1]))
    found = []
    for each in wanted:
        furnace = known.get(each.heat_number)
        facts = _facts(each, events[each.id], furnace, ledger, cast.get(each.id, []))
        found.append(Status(each, furnace, events[each.id], facts, still_open(facts), usual))
    return found


def _facts(
    found: Melt, events: list[Happened], furnace: Fired | None, ledger: Ledger, cast: Sequence[tuple[int, int]]
) -> Facts:
    """cast: number and row of each ingot."""
    paper = found.backend == "paper"
    said = melts.last(events, "poured")
    over = furnace.over_utc_ms if furnace is not None else (found.utc_ms if paper else None)
    if over is None and said is not None:
        over = said.utc_ms
    pot = melts.last(events, "pot drained", "heel left", "put back")
    poured = bool((furnace is not None and furnace.poured_utc_ms is not None) or said or cast)
    return Facts(
        paper=paper,
        fired=furnace is not None,
        over_utc_ms=over,
        poured=poured,
        balance=_with_heel(balance(ledger, found.holder), pot, ledger, found),
        ingots=len(cast),
        counted=furnace.moulds if furnace is not None else 0,
        unweighed=[f"{found.heat_number}/{number}" for number, row in cast if not ledger.into(Holder("ingot", row))],
        dross_told=melts.last(events, "dross") is not None,
        pot="" if pot is None else pot.kind,
        walks_utc_ms=[event.utc_ms for event in events if event.kind == "fire watch"],
        noted_additions_kg=furnace.additions_kg if furnace is not None else 0.0,
        closed=melts.are_closed(events),
    )


def _with_heel(of: Balance, pot: Happened | None, ledger: Ledger, found: Melt) -> Balance:
    """A heel is still the melt's own until the next one takes it over: it is found again all the same."""
    if pot is None or pot.kind != "heel left":
        return of
    taken_kg = sum(move.kg for move in ledger.out_of(found.holder) if move.target.kind == "melt")
    taken_kg -= sum(move.kg for move in ledger.into(found.holder) if move.how == "put back")
    there_kg = min(float(pot.detail["kg"]) - taken_kg, ledger.on_hand_kg(found.holder))
    return of._replace(kept_kg=of.kept_kg + max(0.0, there_kg))


def close(book: Book, data: Path, heat_number: str) -> str:
    """Close the record of a melt: its balance with the gap written off by its name, and the digests of both files.

    Raises:
        InputRefused: something is still open; the sentence names all of it.
    """
    found = melts.melt(book, heat_number)
    now = status(book, found, fired(data))
    if why := may_close(now.facts):
        raise InputRefused(f"Melt {found.heat_number} cannot be closed yet. {why}")
    gap_kg = now.balance.gap_kg
    if gap_kg > 0.0:
        move(
            book, min(gap_kg, left_kg(book, found.holder)), found.holder, OUTSIDE, "gap", melt_id=found.id, note=now.gap
        )
    head = book.one("SELECT digest FROM chain ORDER BY id DESC LIMIT 1")
    walks = fire_watch(now.facts.over_utc_ms or 0, now.facts.walks_utc_ms) if not now.facts.paper else ()
    melts.write(
        book,
        found,
        "closed",
        balance={**now.balance._asdict(), "gap_kg": gap_kg},
        gap=now.gap,
        walks=[{"after_min": walk.after_min, "late_min": walk.late_min} for walk in walks],
        book_digest=head["digest"] if head else "",
        firing=_digest(data, now.fired),
    )
    return f"Melt {found.heat_number} is closed. {now.gap}".rstrip()


def _digest(data: Path, furnace: Fired | None) -> dict[str, Any] | None:
    if furnace is None:
        return None
    with open_log(data) as log:
        return {"id": furnace.firing.id, **firing_digest(log, furnace.firing.id), **newest_seal(log)}


def open_again(book: Book, heat_number: str, reason: str) -> str:
    """Open a closed record again, with the reason; the old closing record stays, and counts no more.

    Raises:
        InputRefused: it is not closed, or no reason is given.
    """
    found = melts.melt(book, heat_number)
    if not melts.is_closed(book, found.id):
        raise InputRefused(f"The record of melt {found.heat_number} is open.")
    if not typed.text("reason", reason):
        raise InputRefused("reason is empty; allowed: 1 to 500 characters")
    for row in book.rows("SELECT id FROM moves WHERE from_kind = 'melt' AND from_id = ? AND how = 'gap'", found.id):
        mend(book, row["id"], None, "opened again")
    melts.write(book, found, "opened again", reason=typed.text("reason", reason))
    return f"The record of melt {found.heat_number} is open again."
