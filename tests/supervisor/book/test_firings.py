"""Firings without metal: what lay in one gets its proof from that firing's own record, or none."""

from pathlib import Path

import pytest

from supervisor.book import firings, ingots, tree
from supervisor.book.moulds import add_mould
from supervisor.book.proofs import proof_of
from supervisor.logbook.directory import open_directory
from supervisor.logbook.records import FiringClosed, FiringOpened, Record
from supervisor.logbook.scribe import Scribe
from supervisor.metal.dryness import refusal
from supervisor.refusal import InputRefused
from tests.supervisor.book.shop import MINUTE_MS, UTC_MS, Shop
from tests.supervisor.logbook import sample

SAMPLE_MS = 20_000


def fire(shop: Shop, *stretches: tuple[int, float], heat_number: str | None = None, closed: bool = True) -> None:
    """A firing that reads each temperature for so many minutes."""
    records: list[Record] = [FiringOpened(1, 0.0, "Drying", heat_number, "Drying", {}, "simulated")]
    t_ms = 0
    for minutes, reading_c in stretches:
        for _ in range(minutes * MINUTE_MS // SAMPLE_MS):
            records.append(sample(t_ms, hot_junction_c=reading_c))
            t_ms += SAMPLE_MS
    records += [FiringClosed(1, t_ms, "complete", None, {})] if closed else []
    with (
        open_directory(shop.data, backend="simulated", furnace="A") as directory,
        Scribe(directory, boot_id="boot", utc_ms=lambda: UTC_MS, threaded=False) as scribe,
    ):
        scribe.put(records)


def prove(shop: Shop, *names: str, why: str = "dry") -> list[str]:
    of = firings.record(shop.data, "1")
    with shop.writing() as book:
        for name in names:
            holder = tree.named(book, name)
            firings.lay_in(book, of, holder.kind, holder.id, why)
        return firings.prove(book, of)


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    made = Shop(tmp_path)
    made.lot("L-1", 4.0)
    made.lot("L-2", 4.0)
    made.melt("A-087", L_1=1.0)
    made.cast("A-087", 0.9)
    return made


def test_what_lay_hot_long_enough_is_proved_dry_from_when_it_was(shop: Shop) -> None:
    fire(shop, (30, 90.0), (125, 160.0), (20, 80.0))
    (said,) = prove(shop, "L-1")
    assert said.startswith("L-1: dry. The chamber was at 160 °C or more for 125 min, until ")
    with shop.reading() as book:
        proof, other = proof_of(book, tree.named(book, "L-1")), proof_of(book, tree.named(book, "L-2"))
    assert proof is not None
    assert proof.to_utc_ms == UTC_MS + 155 * MINUTE_MS
    assert (proof.held_c, proof.held_s) == (160.0, 125 * 60.0)
    assert refusal("L-1", proof, proof.to_utc_ms + MINUTE_MS) == ""
    assert other is None  # it lay elsewhere


def test_a_dip_below_it_in_the_middle_proves_nothing(shop: Shop) -> None:
    fire(shop, (100, 160.0), (1, 140.0), (100, 160.0))
    (said,) = prove(shop, "L-1")
    assert "It proves nothing: 120 min at 150 °C or more are wanted, the chamber was there for 100 min." in said
    with shop.reading() as book:
        assert proof_of(book, tree.named(book, "L-1")) is None


def test_an_aged_ingot_says_so_and_one_proof_is_enough(shop: Shop) -> None:
    fire(shop, (240, 180.0))
    assert prove(shop, "A-087/1", why="age")[0].startswith("A-087/1: aged.")
    assert prove(shop) == ["A-087/1: proved by firing 1 already."]
    with shop.reading() as book:
        (event,) = ingots.events(book, 1)
    assert (event["kind"], event["detail"]["held_min"]) == ("aged", 240)


def test_a_firing_with_metal_or_one_that_goes_on_proves_nothing(shop: Shop) -> None:
    fire(shop, (130, 160.0), heat_number="A-087")
    with pytest.raises(InputRefused, match="had metal in the pot"):
        firings.record(shop.data, "1")


def test_a_lot_is_not_aged_and_nothing_lies_in_twice(shop: Shop) -> None:
    fire(shop, (130, 160.0))
    with pytest.raises(InputRefused, match="L-1 is laid in for 'age'; allowed: dry for lot or ingot or mould"):
        prove(shop, "L-1", why="age")
    with pytest.raises(InputRefused, match="Nothing is said to have lain in firing 1"):
        prove(shop)
    prove(shop, "L-1")
    with pytest.raises(InputRefused, match="lies in firing 1 already"):
        prove(shop, "L-1")


def test_a_mould_that_was_warmed_for_the_pour_counts_as_dry(shop: Shop) -> None:
    with shop.writing() as book:
        mould = add_mould(book, "tray", 600.0)
    fire(shop, (40, 210.0))
    with shop.writing() as book:
        of = firings.record(shop.data, "1")
        firings.lay_in(book, of, "mould", mould.id, "warm")
        (said,) = firings.prove(book, of)
        proof = proof_of(book, ("mould", mould.id))
    assert "M-1: warm." in said
    assert proof is not None
    assert (proof.ended, proof.held_c >= 150.0) == ("", True)
