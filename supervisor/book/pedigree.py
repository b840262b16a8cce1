"""What is likely in a melt, an ingot or a bin: reckoned down the family tree from what is known of its lots today.

Nothing of it is stored. When a lot turns out to be another alloy than somebody took it for, every child says so the
next time it is looked at. All of it is estimated; nothing was analysed unless somebody typed an analysis in.
"""

import json
from collections.abc import Mapping
from math import fsum, inf

from supervisor.book import tree
from supervisor.book.writing import Book
from supervisor.metal.alloys import ELEMENTS
from supervisor.metal.composition import Composition, of_alloy, unknown
from supervisor.metal.descent import OUTSIDE, Holder, Ledger, Movement
from supervisor.metal.mix import Part, mix

REMELTED, AS_IT_IS = "ingot", "none"
"""Forms: metal that is melted once more, and metal that only lies beside other metal in a bin."""


class Pedigree:
    """Compositions of one reading of the book; each is reckoned once."""

    def __init__(self, book: Book, ledger: Ledger | None = None) -> None:
        self._ledger = ledger or tree.ledger(book)
        self._names = tree.names(book)
        self._lots = {row["id"]: row for row in book.rows("SELECT id, form, alloy, certainty, measured FROM lots")}
        self._picked_up = {
            row["id"]: str(row["note"]) for row in book.rows("SELECT id, note FROM moves WHERE how = 'picked up'")
        }
        self._continues = {row["id"]: row["continues"] for row in book.rows("SELECT id, continues FROM melt")}
        self._melts = {row["id"]: row["melt_id"] for row in book.rows("SELECT id, melt_id FROM ingot")}
        self._found: dict[tuple[Holder, float], Composition] = {}

    def of(self, holder: Holder, until: float = inf) -> Composition:
        """What is likely in a holder. until: in a bin, as it was at this movement."""
        key = (holder, until if holder.kind == "lot" else inf)
        if key not in self._found:
            self._found[key] = self._reckoned(*key)
        return self._found[key]

    def unmelted(self, melt_id: int) -> Composition:
        """What lies in the pot of a charge that was never melted: nothing of it is lost yet."""
        charged = [move for move in self._charged(Holder("melt", melt_id)) if move.source != OUTSIDE]
        return mix(self._parts(charged, form=AS_IT_IS)).composition if charged else unknown()

    def form_of(self, holder: Holder) -> str:
        """How a holder's metal melts."""
        return str(self._lots[holder.id]["form"]) if holder.kind == "lot" else REMELTED

    def _reckoned(self, holder: Holder, until: float) -> Composition:
        if holder.kind == "ingot":
            return self.of(Holder("melt", self._melts[holder.id]))
        if holder.kind == "melt":
            return self._melted(self._charged(holder))
        came = self._came(holder, until)
        returned = [move for move in came if move.source.kind in ("ingot", "melt")]
        return self._in_a_bin(holder, came, returned)

    def _came(self, holder: Holder, until: float = inf) -> list[Movement]:
        """What came into a holder; what was put back into it is its own metal."""
        return [move for move in self._ledger.into(holder) if move.id < until and move.how != "put back"]

    def _charged(self, melt: Holder) -> list[Movement]:
        """What came into a melt; and before it into the one whose charge it took over unmelted, which lost nothing."""
        came = self._came(melt)
        before = Holder("melt", self._continues[melt.id] or 0)
        if not came or {move.target for move in self._ledger.out_of(before)} != {melt}:
            return came
        return [*self._charged(before), *(move for move in came if move.source != before)]

    def _in_a_bin(self, holder: Holder, came: list[Movement], returned: list[Movement]) -> Composition:
        row = self._lots[holder.id]
        measured = None if row["measured"] is None else json.loads(row["measured"])
        own = of_alloy(row["alloy"], row["certainty"], measured)
        if not returned or measured:  # an analysis of the bin knows better than its descent
            return own
        weighed_kg = fsum(move.kg for move in came if move.source == OUTSIDE)
        parts = [Part("its own", weighed_kg, AS_IT_IS, own)] if weighed_kg > 0.0 else []
        parts += self._parts(returned, form=AS_IT_IS)
        return mix(parts).composition

    def _melted(self, came: list[Movement]) -> Composition:
        charged = [move for move in came if move.source != OUTSIDE]
        if not charged:
            return unknown()
        found = [move for move in came if move.source == OUTSIDE and move.how != "picked up"]
        parts = self._parts(charged)
        parts += [Part(f"found {move.id}", move.kg, REMELTED, unknown()) for move in found]
        return mix(parts, self._grams(came)).composition

    def _grams(self, came: list[Movement]) -> Mapping[str, float]:
        """What was picked up from tools and inserts, g of each element."""
        grams: dict[str, float] = {}
        for move in came:
            element = self._picked_up.get(move.id, "")
            if move.how == "picked up" and element in ELEMENTS:
                grams[element] = grams.get(element, 0.0) + 1000.0 * move.kg
        return grams

    def _parts(self, moves: list[Movement], form: str = "") -> list[Part]:
        """Each source once; a bin from which something came twice, as it was each time."""
        kg: dict[tuple[Holder, float], float] = {}
        for move in moves:
            until = move.id if move.source.kind == "lot" else inf
            kg[move.source, until] = kg.get((move.source, until), 0.0) + move.kg
        return [
            Part(f"{self._names[source]} {until}", mass_kg, form or self.form_of(source), self.of(source, until))
            for (source, until), mass_kg in kg.items()
        ]
