"""What is in the pot after a melt: drained, a heel, the whole charge unmelted; and a charge that is taken out again."""

from pathlib import Path

import pytest

from supervisor.book import melts, pot, tree
from supervisor.book.closing import status
from supervisor.book.holders import left_kg, move
from supervisor.book.pedigree import Pedigree
from supervisor.book.plans import items
from supervisor.book.proofs import dried
from supervisor.book.starting import dry_until_ms, refusal_to_start
from supervisor.book.writing import Book
from supervisor.metal.descent import Holder
from supervisor.metal.mix import mix
from supervisor.refusal import InputRefused
from tests.supervisor.book.shop import Shop


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(tmp_path)


def gap_kg(shop: Shop, heat_number: str) -> float:
    with shop.reading() as book:
        return status(book, melts.melt(book, heat_number), {}).balance.gap_kg


def test_a_heel_goes_into_the_next_balance_and_a_drained_pot_holds_nothing(shop: Shop) -> None:
    shop.lot("L-28", 6.0)
    shop.melt("A-087", L_28=2.4)
    shop.cast("A-087", 2.0)
    with shop.writing() as book:
        pot.say(book, melts.melt(book, "A-087"), "heel", 0.3)
        assert pot.in_the_pot(book) == (1, "A-087", 0.3, False, "a heel was left in the pot")
    assert gap_kg(shop, "A-087") == pytest.approx(0.1)
    with shop.writing() as book:
        pot.say(book, melts.melt(book, "A-087"), "drained")
        assert pot.in_the_pot(book) is None
    with (
        shop.writing() as book,
        pytest.raises(InputRefused, match=r"heel_kg is None; allowed: above 0, up to 0\.400 kg"),
    ):
        pot.say(book, melts.melt(book, "A-087"), "heel")


def test_a_charge_that_never_melted_stays_in_the_pot_or_goes_back_to_its_bins(shop: Shop) -> None:
    lot = shop.lot("L-28", 6.0)
    shop.melt("A-090", L_28=2.3)
    with shop.writing() as book:
        pot.say(book, melts.melt(book, "A-090"), "charge stays")
        stays = pot.in_the_pot(book)
    assert stays is not None
    assert (stays.kg, stays.whole) == (2.3, True)
    with shop.writing() as book:
        pot.put_back(book, melts.melt(book, "A-090"))
        assert left_kg(book, lot) == 6.0
        assert pot.in_the_pot(book) is None


def test_a_charge_that_went_on_under_the_next_number_goes_back_to_its_bins_from_there(shop: Shop) -> None:
    plate, ends = shop.lot("L-28", 6.0), shop.lot("L-29", 1.0)
    first = shop.melt("A-090", L_28=2.0, L_29=0.3)
    with shop.writing() as book:
        pot.say(book, melts.melt(book, "A-090"), "charge stays")
    second = goes_on(shop, "A-091", first, 2.3, continues=True)
    with shop.writing() as book, pytest.raises(InputRefused, match="went on as A-091: say it of that one"):
        pot.put_back(book, melts.melt(book, "A-090"))
    with shop.writing() as book:
        pot.put_back(book, melts.melt(book, "A-091"))
    with shop.reading() as book:
        assert [left_kg(book, each) for each in (plate, ends, first, second)] == [6.0, 1.0, 0.0, 0.0]
        assert pot.in_the_pot(book) is None
        assert Pedigree(book).of(first).known  # what came back is no metal of another melt
    assert [gap_kg(shop, number) for number in ("A-090", "A-091")] == [0.0, 0.0]


def test_what_stayed_in_the_pot_unmelted_is_asked_for_its_dryness_again_under_the_next_number(shop: Shop) -> None:
    plate = shop.lot("L-28", 6.0)
    with shop.writing() as book:
        dried(book, [("lot", plate.id)], 150.0, 90.0)
    first = shop.melt("A-090", L_28=2.3)
    with shop.writing() as book:
        pot.say(book, melts.melt(book, "A-090"), "charge stays")
    second = goes_on(shop, "A-091", first, 2.3, continues=True)
    with shop.reading() as book:
        dry_ms = dry_until_ms(book, second.id)
        assert dry_ms is not None
        assert refusal_to_start(book, "A-091", dry_ms) == ""
        assert "L-28 was dried 12 h ago" in refusal_to_start(book, "A-091", dry_ms + 1)


def test_what_stayed_unmelted_loses_metal_once_whatever_number_it_melts_under(shop: Shop) -> None:
    shop.lot("L-28", 6.0)
    shop.lot("L-29", 2.0, "6061", form="thin_sheet")
    at_once = shop.melt("A-089", L_28=2.0, L_29=0.5)
    first = shop.melt("A-090", L_28=2.0)
    with shop.writing() as book:
        pot.say(book, melts.melt(book, "A-090"), "charge stays")
        (stays,) = items(book, [])
    second = goes_on(shop, "A-091", first, 2.0, continues=True)
    with shop.writing() as book:
        move(book, 0.5, tree.named(book, "L-29"), ("melt", second.id), "charge", melt_id=second.id)
    with shop.reading() as book:
        likely = Pedigree(book).of(at_once).likely
        assert Pedigree(book).of(second).likely == pytest.approx(likely)
        assert mix([stays.part]).composition.likely == pytest.approx(Pedigree(book).of(first).likely)
    shop.cast("A-091", 2.0)
    with shop.writing() as book:  # that was melted: what is left of it loses once more
        pot.say(book, melts.melt(book, "A-091"), "heel", 0.3)
        (heel,) = items(book, [])
    assert mix([heel.part]).composition.likely["Mg"] < 0.97 * likely["Mg"]


def test_a_heel_that_the_next_charge_lay_on_is_still_in_the_pot_when_that_is_taken_out(shop: Shop) -> None:
    plate = shop.lot("L-28", 6.0)
    first = shop.melt("A-087", L_28=2.4)
    shop.cast("A-087", 2.0)
    with shop.writing() as book:
        pot.say(book, melts.melt(book, "A-087"), "heel", 0.3)
    second = shop.melt("A-088", L_28=1.0)
    goes_on(shop, second, first, 0.3)
    with shop.writing() as book:
        pot.put_back(book, melts.melt(book, "A-088"))
        assert pot.in_the_pot(book) == (1, "A-087", 0.3, False, "a heel was left in the pot")
        assert left_kg(book, plate) == pytest.approx(3.6)
    assert gap_kg(shop, "A-087") == pytest.approx(0.1)


def goes_on(shop: Shop, number: str | Holder, first: Holder, kg: float, *, continues: bool = False) -> Holder:
    """What is in the pot goes into the next melt, as a charge that is confirmed takes it over."""
    with shop.writing() as book:
        row = number.id if isinstance(number, Holder) else _empty(book, number, first.id if continues else None)
        move(book, kg, first, ("melt", row), "heel", melt_id=row)
    return Holder("melt", row)


def _empty(book: Book, number: str, continues: int | None) -> int:
    return book.append(
        "melt",
        heat_number=number,
        furnace="A",
        backend="simulated",
        local_date="2026-06-06",
        mass_kg=2.3,
        alloy="6082",
        form="ingot",
        unknown=0,
        note="",
        continues=continues,
    )
