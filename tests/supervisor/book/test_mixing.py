"""What there is to mix from, as the book has it: lots, ingots when asked, and what is in the pot."""

from pathlib import Path

import pytest

from supervisor.book import melts, pot
from supervisor.book.mixing import on_hand, shop
from supervisor.metal.fit import Pot
from tests.supervisor.book.shop import Shop, story

POT = Pot(2.5, 95.0, 140.0)


@pytest.fixture
def there(tmp_path: Path) -> Shop:
    made = Shop(tmp_path)
    story(made)
    return made


def test_lots_come_with_all_that_is_left_and_ingots_when_asked(there: Shop) -> None:
    with there.reading() as book:
        lots = on_hand(book, with_ingots=False)
        both = on_hand(book, with_ingots=True)
    assert [(item.name, item.kg, item.left_kg) for item in lots.items if item.name == "L-30"] == [("L-30", 0.5, 0.5)]
    assert {item.name[0] for item in lots.items} == {"L"}
    ingots = {item.name: item.left_kg for item in both.items if item.form == "ingot"}
    assert ingots["A-094/2"] == pytest.approx(0.28)
    assert "A-095/1" in ingots
    assert not both.in_the_pot


def test_what_stayed_in_the_pot_counts_and_quarantine_comes_along(there: Shop) -> None:
    there.quarantine("L-31", "lead")
    with there.writing() as book:
        pot.say(book, melts.melt(book, "A-097"), "heel", 0.1)
    with there.reading() as book:
        found = shop(book, POT, None)
    assert [item.kg for item in found.in_the_pot] == [pytest.approx(0.1)]
    assert "L-32" in [item.name for item in found.items if item.quarantine]
    assert (found.moulds, found.mould_proofs) == ([], {})
