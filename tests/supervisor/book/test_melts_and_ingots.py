"""The record of a melt in the book: ingots, dross, pot, walks, balance, closing; by the same calls as the pages."""

from pathlib import Path

import pytest

from supervisor.book import ingots, melts, pot, tree
from supervisor.book.closing import Status, close, fired, open_again, status
from supervisor.book.holders import left_kg
from supervisor.book.pedigree import Pedigree
from supervisor.book.verifying import verify
from supervisor.logbook.directory import open_directory
from supervisor.logbook.records import EventRow, FiringClosed, FiringOpened
from supervisor.logbook.scribe import Scribe
from supervisor.metal.descent import Holder
from supervisor.refusal import InputRefused
from tests.supervisor.book.shop import MINUTE_MS, UTC_MS, Shop, story


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(tmp_path)


def fire(shop: Shop, heat_number: str, *notes: tuple[int, dict[str, object]], minutes: int = 90) -> None:
    """A firing of this heat number in the furnace's log: notes by their minute, then its end."""
    with (
        open_directory(shop.data, backend="simulated", furnace="A") as directory,
        Scribe(directory, boot_id="boot", utc_ms=lambda: UTC_MS, threaded=False) as scribe,
    ):
        frozen = {"charge": {"mass_kg": 2.4}}
        scribe.put([FiringOpened(1, 0.0, heat_number, heat_number, "Ingots", frozen, "simulated")])
        scribe.put([EventRow(1, at * MINUTE_MS, "note", "Ada", "page", detail) for at, detail in notes])
        scribe.put([FiringClosed(1, minutes * MINUTE_MS, "complete", None, {"peak_c": 760.0, "energy_wh": 3400.0})])


def told(shop: Shop, heat_number: str) -> Status:
    with shop.reading() as book:
        return status(book, melts.melt(book, heat_number), fired(shop.data))


def opens(shop: Shop, heat_number: str) -> list[str]:
    return [each.what for each in told(shop, heat_number).open]


def test_a_melt_stays_open_until_everything_is_entered_and_closes_with_its_balance(shop: Shop) -> None:
    shop.lot("L-28", 6.0)
    shop.melt("A-087", L_28=2.4)
    assert opens(shop, "A-087") == ["firing"]
    fire(shop, "A-087", (91, {"kind": "pour"}), minutes=92)
    assert opens(shop, "A-087") == ["masses", "dross", "pot", "walk", "walk", "walk"]
    shop.cast("A-087", 0.6, None)
    assert opens(shop, "A-087")[0] == "masses"
    assert told(shop, "A-087").gap == ""  # nobody looks for a hole in the pot for want of a weighing
    with shop.writing() as book:
        ingots.weigh(book, ingots.ingot_of(book, 2), 1.73)
        found = melts.melt(book, "a-087")
        melts.dross(book, found, 0.05)
        pot.say(book, found, "drained")
    with shop.writing() as book, pytest.raises(InputRefused, match="Walk round and look for smoulder: 30 minutes"):
        close(book, shop.data, "A-087")
    for minute in (125, 150, 280):
        shop.now_ms = UTC_MS + minute * MINUTE_MS
        with shop.writing() as book:
            melts.walked(book, melts.melt(book, "A-087"), "nothing")
    assert opens(shop, "A-087") == ["closing"]
    with shop.writing() as book:
        assert close(book, shop.data, "A-087").startswith("Melt A-087 is closed. 20 g not found")
    after = told(shop, "A-087")
    assert after.open == ()
    detail = melts.last(list(after.events), "closed")
    assert detail is not None
    assert detail.detail["balance"]["gap_kg"] == pytest.approx(0.02)
    assert [walk["late_min"] for walk in detail.detail["walks"]] == [5, 0, 10]
    parts = {"id", "firing", "events", "alarms", "commands", "samples", "seal_id", "seal_digest"}
    assert set(detail.detail["firing"]) == parts
    with shop.reading() as book:
        assert left_kg(book, Holder("melt", 1)) == 0.0
    assert verify(shop.path).fault == ""


def test_a_closed_record_takes_nothing_until_it_is_opened_again_with_a_reason(shop: Shop) -> None:
    shop.lot("L-28", 6.0)
    shop.melt("A-001", backend="paper", L_28=2.4)
    shop.cast("A-001", 2.3)
    with shop.writing() as book:
        melts.dross(book, melts.melt(book, "A-001"), 0.0)
    with shop.writing() as book:
        close(book, shop.data, "A-001")
    with pytest.raises(InputRefused, match="is closed; open it again first, with the reason"):
        shop.cast("A-001", 0.01)
    with shop.writing() as book, pytest.raises(InputRefused, match="is closed"):
        melts.dross(book, melts.melt(book, "A-001"), 0.02)
    with shop.writing() as book, pytest.raises(InputRefused, match="reason is empty"):
        open_again(book, "A-001", " ")
    with shop.writing() as book:
        open_again(book, "A-001", "the scale was 100 g low")
    with shop.writing() as book:
        ingots.weigh(book, ingots.ingot_of(book, 1), 2.4)
    assert told(shop, "A-001").balance.gap_kg == 0.0


def test_more_than_went_in_is_never_entered(shop: Shop) -> None:
    shop.lot("L-28", 6.0)
    shop.melt("A-087", L_28=2.4)
    with pytest.raises(InputRefused, match=r"allowed: up to 0\.400 kg, what is left of A-087"):
        shop.cast("A-087", 2.0, 0.5)
    with shop.reading() as book:
        assert ingots.ingots(book) == []


def test_an_addition_that_nobody_named_stays_open(shop: Shop) -> None:
    shop.lot("L-28", 6.0)
    shop.melt("A-087", L_28=2.0)
    fire(shop, "A-087", (40, {"kind": "addition", "mass_kg": 0.3}), (91, {"kind": "pour"}))
    first = told(shop, "A-087").open[0]
    assert (first.what, first.sentence) == ("addition", "0.30 kg was added without a name: say from which lot.")


def test_moulds_counted_at_the_pour_wait_for_their_masses(shop: Shop) -> None:
    shop.lot("L-28", 6.0)
    shop.melt("A-087", L_28=2.0)
    fire(shop, "A-087", (90, {"kind": "mould"}), (91, {"kind": "mould"}), (92, {"kind": "pour"}))
    assert told(shop, "A-087").open[0].sentence == "2 moulds were counted at the pour: what do the ingots weigh?"


def test_a_gap_below_the_scales_last_digit_does_not_keep_a_record_open(shop: Shop) -> None:
    shop.lot("L-28", 6.0)
    shop.melt("A-087", L_28=2.4003)
    fire(shop, "A-087", (90, {"kind": "pour"}))
    shop.cast("A-087", 2.35)
    with shop.writing() as book:
        found = melts.melt(book, "A-087")
        melts.dross(book, found, 0.05)
        pot.say(book, found, "drained")
    for after_min in (130, 160, 280):
        shop.now_ms = UTC_MS + after_min * MINUTE_MS
        with shop.writing() as book:
            melts.walked(book, melts.melt(book, "A-087"), "nothing")
    with shop.writing() as book:
        assert close(book, shop.data, "A-087").startswith("Melt A-087 is closed.")


def test_an_ingot_is_used_up_bit_by_bit_and_keeps_its_notes(shop: Shop) -> None:
    shop.lot("L-28", 6.0)
    shop.melt("A-087", L_28=2.4)
    shop.cast("A-087", 0.6)

    def found() -> ingots.Ingot:
        with shop.reading() as book:
            return ingots.ingot_of(book, tree.named(book, "A-087-1").id)

    assert (found().name, found().status) == ("A-087/1", "on the shelf")
    with shop.writing() as book:
        ingots.machined(book, found(), 4, "clean, short chips")
        assert ingots.use(book, found(), 0.25, "bracket") == "A-087/1: 0.250 kg used, 0.350 kg left."
    assert (found().status, found().score, found().cut) == ("begun", 4, "clean, short chips")
    with shop.writing() as book, pytest.raises(InputRefused, match=r"allowed: up to 0\.350 kg"):
        ingots.use(book, found(), 0.4, "knob")
    with shop.writing() as book, pytest.raises(InputRefused, match="score is 6; allowed: 1 to 5"):
        ingots.machined(book, found(), 6, "")
    with shop.writing() as book, pytest.raises(InputRefused, match=r"what is left of A-087/1"):
        ingots.weigh(book, found(), 0.2)
    with shop.writing() as book:
        ingots.use(book, found(), None, "knob")
    assert found().is_gone
    with shop.writing() as book, pytest.raises(InputRefused, match="Nothing is left of A-087/1"):
        ingots.use(book, found(), None, "")
    with shop.reading() as book:
        assert [event["kind"] for event in ingots.events(book, 1)] == ["machined", "used up", "used up"]


def test_an_ingot_that_is_not_weighed_is_not_used(shop: Shop) -> None:
    shop.lot("L-28", 6.0)
    shop.melt("A-087", L_28=2.4)
    shop.cast("A-087", None)
    with shop.writing() as book, pytest.raises(InputRefused, match="is not weighed yet: weigh it first"):
        ingots.use(book, ingots.ingot_of(book, 1), 0.1, "")


def test_lead_is_found_in_every_child_from_what_the_lot_is_known_to_be_today(shop: Shop) -> None:
    story(shop)

    def lead(name: str) -> float:
        with shop.reading() as book:
            return Pedigree(book).of(tree.named(book, name)).likely["Pb"]

    # By the limits of 2011 (0.2 to 0.6 % lead): 0.9 of 2.4 kg at 0.4 %, and a little is lost of the rest.
    assert lead("A-094") == pytest.approx(0.152, abs=0.001)
    assert lead("A-094/3") == lead("A-094")
    assert lead("A-095/2") == pytest.approx(0.152 * 0.3 / 2.3, abs=0.001)
    assert lead("A-097/1") == 0.0


def test_a_name_is_found_as_people_type_it_and_a_wrong_one_is_told_what_there_is(shop: Shop) -> None:
    story(shop)
    with shop.reading() as book:
        assert tree.named(book, " a-094/2 ") == tree.named(book, "A-094-2")
        with pytest.raises(InputRefused, match=r"'B-001' is no lot or melt or ingot of this book; allowed: "):
            tree.named(book, "B-001")
