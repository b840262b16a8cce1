"""An invented shop with a book: bins, melts and ingots in a few words, through the same calls as pages and commands."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from supervisor.book import ingots, melts, quarantine, tree
from supervisor.book.holders import OUTSIDE, move
from supervisor.book.writing import FILE_NAME, Book, open_book, read_book
from supervisor.metal.descent import Holder

UTC_MS = 1_790_000_000_000
MINUTE_MS = 60_000


@dataclass
class Shop:
    """A data directory with a book; time goes on by a minute with every entry."""

    data: Path
    now_ms: int = field(default=UTC_MS)

    @property
    def path(self) -> Path:
        return self.data / FILE_NAME

    @contextmanager
    def writing(self) -> Iterator[Book]:
        self.now_ms += MINUTE_MS
        with open_book(self.path, who="Ada", sent_from="command line", utc_ms=self.now_ms) as book:
            yield book

    @contextmanager
    def reading(self) -> Iterator[Book]:
        with read_book(self.path) as book:
            yield book

    def lot(
        self, code: str, kg: float, alloy: str = "6082", certainty: str = "marked", form: str = "solid_offcut"
    ) -> Holder:
        with self.writing() as book:
            row = book.append("lot", code=code)
            book.append(
                "lot_description",
                lot_id=row,
                name=f"bin {code}",
                origin="invented",
                form=form,
                alloy=alloy,
                certainty=certainty,
                surface="bare",
                shape="solid",
                note="",
            )
            move(book, kg, OUTSIDE, ("lot", row), "weighed in")
        return Holder("lot", row)

    def melt(self, heat_number: str, backend: str = "simulated", **charged_kg: float) -> Holder:
        """Charge a melt. charged_kg: by name, 'L_31' for L-31 and 'A_094_2' for the ingot A-094/2."""
        with self.writing() as book:
            row = book.append(
                "melt",
                heat_number=heat_number,
                furnace="A",
                backend=backend,
                local_date="2026-06-06",
                mass_kg=sum(charged_kg.values()),
                alloy="6082",
                form="solid_offcut",
                unknown=0,
                solidus_c=585.0,
                liquidus_c=650.0,
                pour_c=720.0,
                note="",
            )
            for name, kg in charged_kg.items():
                source = tree.named(book, name.replace("_", "-"), ("lot", "ingot"))
                move(book, kg, source, ("melt", row), "charge", melt_id=row)
        return Holder("melt", row)

    def cast(self, heat_number: str, *masses_kg: float | None) -> str:
        with self.writing() as book:
            return ingots.count(book, melts.melt(book, heat_number), masses_kg, "Ada")

    def returned(self, name: str, kg: float, lot: Holder) -> str:
        with self.writing() as book:
            found = ingots.ingot_of(book, tree.named(book, name, ("ingot",)).id)
            return ingots.return_as_scrap(book, found, kg, lot.id)

    def quarantine(self, name: str, reason: str) -> quarantine.Touched:
        with self.writing() as book:
            return quarantine.set_quarantine(book, tree.named(book, name), reason)

    def clear(self, name: str, reason: str) -> str:
        with self.writing() as book:
            return quarantine.clear(book, tree.named(book, name), reason)

    def held_back(self) -> set[str]:
        """Names of all that is under quarantine."""
        with self.reading() as book:
            found = quarantine.state(book)
            return {found.names[holder] for holder in found.reached}


def story(shop: Shop) -> None:
    """The bad lot of the invented shop: bar ends into A-094, one of its bars into A-095, one of those into A-096."""
    shop.lot("L-30", 6.0, "6082")
    shop.lot("L-31", 0.9, "2011", "likely")
    shop.melt("A-094", L_30=1.5, L_31=0.9)
    shop.cast("A-094", 0.58, 0.58, 0.58, 0.58)
    scrap = shop.lot("L-32", 0.001, "6082")
    shop.returned("A-094/2", 0.3, scrap)
    shop.melt("A-095", L_30=2.0, L_32=0.3)
    shop.cast("A-095", 0.56, 0.56, 0.56, 0.55)
    shop.melt("A-096", L_30=1.0, A_095_1=0.5)
    shop.cast("A-096", 0.7, 0.7)
    shop.melt("A-097", L_30=1.0)
    shop.cast("A-097", 0.9)
