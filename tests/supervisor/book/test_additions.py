"""An addition to a hot pot: named, judged by its proofs, and never recorded as proved without them."""

from pathlib import Path
from typing import Any

import pytest

from supervisor.book import additions, lots, melts, tree
from supervisor.book.holders import left_kg
from supervisor.book.plans import Entry
from supervisor.book.proofs import dried, stored_cold
from supervisor.metal.adding import Answer
from supervisor.metal.descent import Holder
from supervisor.metal.dryness import GOOD_FOR_H
from supervisor.refusal import InputRefused
from tests.supervisor.book.shop import MINUTE_MS, Shop


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    made = Shop(tmp_path)
    made.lot("L-1", 4.0)
    made.lot("L-2", 4.0)
    made.melt("A-087", L_1=1.0)
    return made


def asked(shop: Shop, name: str = "L-2", kg: float = 0.3, capacity_kg: float | None = None) -> Answer:
    with shop.reading() as book:
        entries = [Entry(tree.named(book, name), kg)]
        found = melts.melt(book, "A-087")
        return additions.judge(book, entries, shop.now_ms, found=found, capacity_kg=capacity_kg)


def dry(shop: Shop, name: str = "L-2") -> None:
    with shop.writing() as book:
        dried(book, [tree.named(book, name)], 160.0, 90.0)


def write_down(shop: Shop, name: str = "L-2", kg: float = 0.3) -> additions.Added:
    with shop.writing() as book:
        return additions.write_down(book, melts.melt(book, "A-087"), [Entry(tree.named(book, name), kg)])


def test_what_is_not_proved_dry_is_answered_do_not_add(shop: Shop) -> None:
    assert asked(shop).why == ("L-2 is not proved dry.",)
    dry(shop)
    assert asked(shop).may


def test_what_the_pot_does_not_take_is_answered_do_not_add(shop: Shop) -> None:
    dry(shop)
    assert asked(shop, kg=0.3, capacity_kg=1.3).may  # 1 kg is in it
    assert asked(shop, kg=0.4, capacity_kg=1.3).why == (
        "0.400 kg are more than the pot still takes, 0.300 kg: it runs over.",
    )


@pytest.mark.parametrize(
    ("known", "caution"),
    [
        ({"form": "pure_addition", "alloy": "unknown", "measured": {"Zn": 99.0}}, "Zinc fume, chills and fever"),
        ({"form": "pure_addition", "alloy": "unknown", "measured": {"Mg": 99.0}}, "No flux with sodium"),
        ({"alloy": "7075", "certainty": "marked"}, "zinc"),
        ({"alloy": "5083", "certainty": "marked"}, "white glare: step back, heat off, never water"),
    ],
)
def test_zinc_and_magnesium_come_with_their_cautions(shop: Shop, known: dict[str, Any], caution: str) -> None:
    dry(shop)
    with shop.writing() as book:
        found = {"origin": "other", "certainty": "measured", **known}
        lots.describe(book, tree.named(book, "L-2").id, **found)
    assert caution in " ".join(asked(shop).cautions)


def test_a_proof_that_is_over_or_ended_by_cold_storage_counts_no_more(shop: Shop) -> None:
    dry(shop)
    dried_ms = shop.now_ms
    shop.now_ms = dried_ms + round(GOOD_FOR_H * 60 + 1) * MINUTE_MS
    assert asked(shop).why == ("L-2 was dried 12 h ago; a proof ends after 12 h.",)
    shop.now_ms = dried_ms + MINUTE_MS
    with shop.writing() as book:
        stored_cold(book, tree.named(book, "L-2"))
    assert asked(shop).why == ("L-2 was dried, and then stored cold: that proof is over.",)


def test_what_comes_back_to_a_lot_ends_its_proof(shop: Shop) -> None:
    shop.cast("A-087", 0.9)
    dry(shop)
    shop.returned("A-087/1", 0.2, Holder("lot", 2))
    assert asked(shop).why == ("L-2 was dried, and then more was put to it: that proof is over.",)


@pytest.mark.parametrize(
    ("known", "why"),
    [
        ({"shape": "closed"}, "closed, or able to hold liquid"),
        ({"shape": "not looked"}, "whether a piece is closed or hollow"),
        ({"surface": "oily"}, "is oily: not into a hot pot"),
        ({"surface": "not looked"}, "whether it is bare, painted or oily"),
        ({"origin": "aircraft", "certainty": "guess"}, "may hold lithium"),
        ({"alloy": "535.0"}, "holds beryllium"),
    ],
)
def test_dry_alone_is_not_enough(shop: Shop, known: dict[str, str], why: str) -> None:
    dry(shop)
    with shop.writing() as book:
        lots.describe(book, tree.named(book, "L-2").id, **{"origin": "other", **known})
    assert why in " ".join(asked(shop).why)


def test_a_quarantine_that_comes_between_the_answer_and_the_pot_is_seen(shop: Shop) -> None:
    dry(shop)
    assert asked(shop).may
    shop.quarantine("L-2", "lead")
    added = write_down(shop)
    assert not added.proved
    assert "against the answer 'do not add'" in added.sentence


def test_an_addition_is_never_recorded_as_proved_without_its_proof(shop: Shop) -> None:
    assert not write_down(shop).proved
    with shop.reading() as book:
        (note,) = book.raw("SELECT note FROM moves WHERE how = 'addition'")[0]
        events = melts.happened(book, 1)
    assert note == "not proved: L-2 is not proved dry."
    assert [(event.kind, event.detail["went_in"]) for event in events] == [("addition refused", True)]
    dry(shop)
    assert write_down(shop).proved
    with shop.reading() as book:
        assert left_kg(book, Holder("lot", 2)) == pytest.approx(3.4)


def test_an_addition_without_lots_or_with_one_twice_or_too_much_of_it_is_refused(shop: Shop) -> None:
    with shop.reading() as book:
        lot = tree.named(book, "L-2")
        with pytest.raises(InputRefused, match="names 0 lots; allowed: 1 to 10"):
            additions.judge(book, [], shop.now_ms)
        with pytest.raises(InputRefused, match="named twice"):
            additions.judge(book, [Entry(lot, 0.1), Entry(lot, 0.1)], shop.now_ms)
    dry(shop)
    assert asked(shop, kg=5.0).why == ("L-2 has 4.000 kg left, not 5.000.",)
    with pytest.raises(InputRefused, match=r"allowed: up to 4\.000 kg"):
        write_down(shop, kg=5.0)
