"""Where metal came from and where it went: one ledger of kilograms, read as a family tree in both directions.

Every kilogram that moves is one movement from a holder to another. A lot is a bin: what leaves it before something came
into it holds nothing of that. A melt and an ingot are one piece of metal: what is in them is in all of it.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from math import fsum, inf
from operator import attrgetter
from typing import NamedTuple

SMALLEST_KG = 1e-6
"""Below this two masses are one: sums of decimal numbers are not exact in binary."""


class Holder(NamedTuple):
    """What holds metal: a lot, a melt, an ingot; or outside, which is everything that is not ours."""

    kind: str
    id: int


OUTSIDE = Holder("outside", 0)


class Movement(NamedTuple):
    """Metal went from one holder to another."""

    id: int  # what comes later in the book has the higher one, whatever a clock says
    utc_ms: int
    source: Holder
    target: Holder
    kg: float
    how: str  # 'charge', 'ingot', 'returned', ...


class Mark(NamedTuple):
    """Somebody put a holder under quarantine, or cleared it."""

    id: int  # the later, the higher
    holder: Holder
    utc_ms: int
    quarantined: bool
    reason: str
    who: str
    knew: float = inf  # the newest movement that was in the book by then


class Reached(NamedTuple):
    """A holder that a quarantine reaches: from which mark, over how many movements, through which holder last."""

    mark: Mark
    steps: int
    through: Holder


class Relative(NamedTuple):
    """A holder in a family tree: how many movements away, and over which ones, all between the same two holders."""

    holder: Holder
    steps: int
    movements: Sequence[Movement]  # one at least, oldest first

    @property
    def kg(self) -> float:
        """What went over all of them."""
        return fsum(move.kg for move in self.movements)

    @property
    def how(self) -> str:
        """In which ways it went: 'charge', or 'charge, addition'."""
        return ", ".join(dict.fromkeys(move.how for move in self.movements))


class Ledger:
    """All movements that count, in the order of the book."""

    def __init__(self, movements: Iterable[Movement]) -> None:
        self.movements: Sequence[Movement] = sorted(movements, key=attrgetter("id"))
        self._out: dict[Holder, list[Movement]] = defaultdict(list)
        self._into: dict[Holder, list[Movement]] = defaultdict(list)
        for move in self.movements:
            self._out[move.source].append(move)
            self._into[move.target].append(move)

    def into(self, holder: Holder) -> Sequence[Movement]:
        """What came into a holder, oldest first."""
        return tuple(self._into.get(holder, ()))

    def out_of(self, holder: Holder) -> Sequence[Movement]:
        """What left a holder, oldest first."""
        return tuple(self._out.get(holder, ()))

    def on_hand_kg(self, holder: Holder) -> float:
        """What a holder holds now; a melt's is what nobody has found again."""
        came, went = (fsum(move.kg for move in moves) for moves in (self.into(holder), self.out_of(holder)))
        return 0.0 if abs(came - went) < SMALLEST_KG else came - went

    def shortage_kg(self, source: Holder, kg: float) -> float:
        """By how much a holder holds too little to give kg away; 0: it can. Outside gives whatever is weighed in."""
        if source == OUTSIDE:
            return 0.0
        short = kg - self.on_hand_kg(source)
        return short if short > SMALLEST_KG else 0.0

    def descendants(self, holder: Holder) -> Sequence[Relative]:
        """Everything that holds metal of a holder, nearest first, each once."""
        return tuple(self._walk(holder, forward=True))

    def ancestors(self, holder: Holder) -> Sequence[Relative]:
        """Everything whose metal is in a holder, nearest first, each once."""
        return tuple(self._walk(holder, forward=False))

    def children(self, holder: Holder, since: float = -inf) -> Iterator[tuple[Holder, float, Movement]]:
        """Where metal of a holder went that was in it since then: holder, since when it is in that, by which movement.

        since: the movement from which on. It counts for a lot alone: what comes into a bin later was not in what left
        it before.
        """
        for move in self.out_of(holder):
            if move.target == OUTSIDE or (holder.kind == "lot" and move.id < since):
                continue
            yield move.target, (move.id if move.target.kind == "lot" else -inf), move

    def parents(self, holder: Holder, until: float = inf) -> Iterator[tuple[Holder, float, Movement]]:
        """Where metal of a holder came from that was in it by then; the mirror of children."""
        for move in self.into(holder):
            if move.source == OUTSIDE or (holder.kind == "lot" and move.id > until):
                continue
            yield move.source, (move.id if move.source.kind == "lot" else inf), move

    def reached(self, marks: Iterable[Mark]) -> dict[Holder, Reached]:
        """Every holder under quarantine: those marked so, and all that hold their metal.

        A clearing that is newer than the mark stops it: the cleared holder, and what comes from it alone, is clear. Not
        so what was put to it afterwards: nobody knew of that. Where several marks reach a holder, the nearest is named.
        """
        last: dict[Holder, Mark] = {}
        for mark in marks:
            if mark.holder not in last or mark.id > last[mark.holder].id:
                last[mark.holder] = mark
        found: dict[Holder, Reached] = {}
        for mark in sorted(last.values(), key=lambda mark: mark.id):
            if mark.quarantined:
                self._reach(mark, last, found)
        return found

    def _reach(self, mark: Mark, last: dict[Holder, Mark], found: dict[Holder, Reached]) -> None:
        """One mark's way down: a lot is gone through again when an earlier day turns up at which metal came in."""
        earliest: dict[Holder, float] = {mark.holder: -inf}
        _nearest(found, mark.holder, Reached(mark, 0, mark.holder))
        now = [(mark.holder, -inf)]
        steps = 0
        while now:
            steps += 1
            after = []
            for holder, from_then in now:
                for child, since, move in self.children(holder, from_then):
                    other = last.get(child)
                    newer = other is not None and not other.quarantined and other.id > mark.id
                    cleared = newer and other is not None and move.id <= other.knew
                    if cleared or since >= earliest.get(child, inf):
                        continue
                    earliest[child] = since
                    _nearest(found, child, Reached(mark, steps, holder))
                    after.append((child, since))
            now = after

    def _walk(self, start: Holder, *, forward: bool) -> Iterator[Relative]:
        edge = -inf if forward else inf
        widest: dict[Holder, float] = {start: edge}
        told = {start}
        now, steps = [(start, edge)], 0
        while now:
            steps += 1
            after = []
            for holder, limit in now:
                between: dict[Holder, list[Movement]] = defaultdict(list)
                reaches: dict[Holder, float] = {}
                for other, reach, move in self.children(holder, limit) if forward else self.parents(holder, limit):
                    between[other].append(move)
                    reaches[other] = (min if forward else max)(reach, reaches.get(other, reach))
                for other, moves in between.items():
                    reach = reaches[other]
                    known = widest.get(other)
                    if known is not None and (reach >= known if forward else reach <= known):
                        continue
                    widest[other] = reach
                    after.append((other, reach))
                    if other not in told:
                        told.add(other)
                        yield Relative(other, steps, moves)
            now = after


def _nearest(found: dict[Holder, Reached], holder: Holder, reached: Reached) -> None:
    if holder not in found or reached.steps < found[holder].steps:
        found[holder] = reached
