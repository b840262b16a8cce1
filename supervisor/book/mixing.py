"""What there is to mix from: every lot that is left, the ingots if they may be melted again, and what is in the pot."""

from typing import NamedTuple

from supervisor.book.ingots import ingots
from supervisor.book.lots import lots
from supervisor.book.moulds import moulds
from supervisor.book.plans import Entry, items
from supervisor.book.proofs import proof_of
from supervisor.book.writing import Book
from supervisor.metal.fit import Pot
from supervisor.metal.item import IN_THE_POT, Item
from supervisor.metal.plan import Heating
from supervisor.metal.today import Shop


class OnHand(NamedTuple):
    """Metal that is there, each item with all of its mass."""

    items: tuple[Item, ...]
    in_the_pot: tuple[Item, ...]


def on_hand(book: Book, *, with_ingots: bool) -> OnHand:
    """Everything that could go into the pot."""
    entries = [Entry(("lot", lot.id), lot.kg) for lot in reversed(lots(book))]
    if with_ingots:
        entries += [
            Entry(("ingot", each.id), each.left_kg) for each in ingots(book) if each.cast_kg and not each.is_gone
        ]
    found = items(book, entries)
    in_the_pot = tuple(item for item in found if item.origin == IN_THE_POT)
    return OnHand(tuple(item for item in found if item.origin != IN_THE_POT), in_the_pot)


def shop(book: Book, pot: Pot, heating: Heating | None) -> Shop:
    """Lots, moulds and their proofs, for the question what could be poured today. Ingots stay on the shelf."""
    there, known = on_hand(book, with_ingots=False), moulds(book)
    proofs = {each.code: proof_of(book, ("mould", each.id)) for each in known}
    return Shop(there.items, there.in_the_pot, pot, [each.mould for each in known], proofs, heating)
