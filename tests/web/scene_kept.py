"""Situations of metal, book and log, and what the pages must say in them."""

import json
from collections.abc import Callable
from typing import Any

from supervisor.book import lots, melts, tree
from supervisor.book.closing import fired
from supervisor.book.moulds import add_mould
from supervisor.book.pedigree import Pedigree
from supervisor.book.plans import Entry, keep
from supervisor.book.proofs import dried
from supervisor.book.writing import Book
from supervisor.care.ageing import melts_left
from supervisor.care.keeping import all_figures
from supervisor.care.mains import age_or_mains
from supervisor.furnace.stages import Proved
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import ProofRow
from tests.supervisor.book.shop import Shop, story
from tests.supervisor.logbook import UTC_MS, closed, opened, samples, scribe_of
from tests.web.conftest import Browser, pair
from tests.web.kept import keep_firings
from tests.web.scene import MIN_MS, Scene, Situation
from tests.web.snapshots import STOPPED
from web.book import Book as Book_
from web.roles import Role

FIRINGS = 11


# --- the metal -------------------------------------------------------------------------------------------------------


def plate(book: Book, kg: float, longest_mm: float, **more: Any) -> lots.Lot:
    return lots.add(
        book, kg, form="solid_offcut", origin="plate", certainty="marked", surface="bare", shape="solid",
        longest_mm=longest_mm, **{"alloy_name": "6082", **more},
    )  # fmt: skip


def planned(kg: float, longest_mm: float, words: str, **more: Any) -> Situation:
    """A plan of one lot in two moulds, and what its page says. Its number is in the words as {plan}."""

    def arrange(scene: Scene) -> str:
        scene.show(STOPPED)
        with scene.book() as book:
            lot = plate(book, kg, longest_mm, **more)
            trays = [add_mould(book, "tray", 600.0, mass_kg=5.0).id for _ in range(2)]
            dried(book, [("lot", lot.id), *(("mould", tray) for tray in trays)], 160.0, 120.0)
            keep(book, [Entry(("lot", lot.id), kg)], profile="example/ingots-2kg", mould_ids=trays)
        return words

    return arrange


def cannot_be_reckoned(scene: Scene) -> str:
    planned(1.0, 60.0, "")(scene)
    scene.furnace.link.forecast_with(lambda profile, planned: (None, "It cannot be reckoned for this furnace."))
    return "It cannot be reckoned for this furnace."


def a_lot(kept: Callable[[Book, lots.Lot], Any], words: str) -> Situation:
    def arrange(scene: Scene) -> str:
        with scene.book() as book:
            kept(book, next(iter(lots.lots(book)), None) or plate(book, 2.4, 60.0))
        return words

    return arrange


def the_story(scene: Scene) -> Shop:
    shop = Shop(scene.data)
    if not scene.data.joinpath("book.db").is_file() or not list(_melts(shop)):
        story(shop)
    return shop


def _melts(shop: Shop) -> list[melts.Melt]:
    with shop.reading() as book:
        return melts.melts(book)


def shop_with(most: str) -> Situation:
    """Two melts of plate, then one with a fifth of 2011; the copper is reckoned here from its pedigree."""

    def arrange(scene: Scene) -> str:
        shop = Shop(scene.data)
        if most == "A-096/1":
            shop.lot("L-30", 6.0, "6082")
            shop.melt("A-096", L_30=2.0)
            shop.cast("A-096", 0.9)
        else:
            shop.lot("L-31", 0.9, "2011", "likely")
            shop.melt("A-094", L_30=1.5, L_31=0.9)
            shop.cast("A-094", 0.58)
        with shop.reading() as book:
            found = Pedigree(book).of(tree.named(book, most, ("ingot",)))
        return f"Most copper: {most}, {found.likely['Cu']:.2f} ± {found.give('Cu'):.2f} %"

    return arrange


def ingot_is_clear(scene: Scene) -> str:
    the_story(scene)
    return "A-094/1 is on the shelf."


def ingot_is_held(scene: Scene) -> str:
    the_story(scene).quarantine("L-31", "lead found")
    return "A-094/1 is under quarantine."


def lot_went_nowhere_bad(scene: Scene) -> str:
    the_story(scene)
    return "Nothing is under quarantine."


def lot_is_everywhere(scene: Scene) -> str:
    the_story(scene).quarantine("L-31", "lead found")
    return "reached ten ingots: four of A-094, four of A-095, two of A-096."


def walk(minutes: int) -> Situation:
    def arrange(scene: Scene) -> str:
        if not scene.data.joinpath("furnace.db").is_file():
            keep_firings(scene.data)
            shop = Shop(scene.data)
            shop.lot("L-1", 4.0)
            shop.melt("A-096", L_1=2.0)
        over_ms = fired(scene.data)["A-096"].over_utc_ms
        assert over_ms is not None
        hot = {"c": 300.0, "age_s": 0.0, "fault": None}
        scene.show(STOPPED, utc_ms=over_ms + minutes * MIN_MS, hot_junction=hot)
        return f"Walk round now: {30 if minutes < 60 else 60}-minute look for smoulder, melt A-096."

    return arrange


def balanced(masses: str, words: str) -> Situation:
    def arrange(scene: Scene) -> str:
        shop = Shop(scene.data)
        if not scene.data.joinpath("book.db").is_file() or not _melts(shop):
            shop.lot("L-1", 4.0)
            shop.melt("A-001", backend="paper", L_1=2.4)
        scene.phone.takes_s = 1.0
        scene.phone.post("/melts/A-001/count", data={"masses": masses, "maker": "Bo"})
        scene.phone.post("/melts/A-001/dross", data={"dross": "0.06"})
        return words

    return arrange


# --- the furnace itself ----------------------------------------------------------------------------------------------


def log_with(scene: Scene, *rows: Any) -> None:
    if not scene.data.joinpath("furnace.db").is_file():
        with scribe_of(scene.data) as scribe:
            for number in range(1, FIRINGS + 1):
                scribe.put([opened(number), *samples(3, number), closed(3000, number)])
    if rows:
        with scribe_of(scene.data) as scribe:
            scribe.put(list(rows))


def elements(volt: float) -> Situation:
    """Firings of an element that grows, the last at this voltage; what is said of it is reckoned here once more."""

    def arrange(scene: Scene) -> str:
        log_with(scene)
        with scene.book() as book, open_log(scene.data) as log:
            for number in range(1, FIRINGS + 1):
                ohm, at_v = 22.0 + 0.15 * number, volt if number == FIRINGS else 230.0
                seen = {"element": [at_v**2 / ohm, ohm * (230.0 / at_v) ** 2, ohm, at_v, 0.005]}
                book.append("care_figure", firing_id=number, figures=json.dumps(seen))
            figures = all_figures(log, book)
            left, told = melts_left(figures), age_or_mains(figures[:3], figures[-1])
            book.append("care_figure", firing_id=FIRINGS, figures=json.dumps({**seen, "left": left._asdict()}))
        assert told is not None
        return {"left": left.words, "told": told.words}[scene.wanted]

    return arrange


def wanted(what: str, situation: Situation) -> Situation:
    def arrange(scene: Scene) -> str:
        scene.wanted = what
        return situation(scene)

    return arrange


def nothing_is_kept(words: str) -> Situation:
    def arrange(scene: Scene) -> str:
        log_with(scene)
        return words

    return arrange


def ice_water(scene: Scene) -> str:
    scene.phone.post("/equipment/care", data={"kind": "ice check", "value": "0,5"})
    return "+0.5 K at 0.0 °C: within 4.5 K."


def limiter_proved(scene: Scene) -> str:
    tripped = Proved("limiter-sensor", "proved", False, "limiter", "it opened", "Ada", UTC_MS, 0)
    log_with(scene, ProofRow(tripped, None, "command line"))
    return "Tripped by hand"


def best_of_one_lot(scene: Scene) -> str:
    scene.show(STOPPED)
    with scene.book() as book:
        plate(book, 2.4, 60.0)
    return "it cannot be met with what is there"


def best_with_castings(scene: Scene) -> str:
    with scene.book() as book:
        known: dict[str, Any] = {"certainty": "marked", "surface": "bare", "shape": "solid", "longest_mm": 60.0}
        lots.add(book, 1.5, form="old_casting", origin="wheel", alloy_name="A356.0", **known)
    return "For your limits: all wished limits hold over the whole band."


def chips(dry: bool, words: str) -> Situation:
    def arrange(scene: Scene) -> str:
        scene.show(STOPPED)
        with scene.book() as book:
            lot = lots.add(
                book, 0.4, form="swarf_dry", origin="machining", alloy_name="6082", certainty="marked", surface="bare",
                shape="solid",
            )  # fmt: skip
            if dry:
                dried(book, [("lot", lot.id)], 160.0, 120.0)
            keep(book, [Entry(("lot", lot.id), 0.4)], profile="example/ingots-2kg", mould_ids=[])
        return words

    return arrange


def who_runs(name: str, role: Role, words: str) -> Situation:
    def arrange(scene: Scene) -> str:
        pair(Browser(scene.phone.application), Book_(scene.data / "book.db"), scene.time.utc_ms(), name, role)
        return f"{name}{words}"

    return arrange
