"""Lots, plans and charges in the book: a plan becomes a charge only as things stand at that moment."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from supervisor.book import lots, melts, plans, pot, quarantine
from supervisor.book.charging import Confirmed, Furnace, confirm, confirmed, next_heat_number
from supervisor.book.holders import left_kg, move
from supervisor.book.moulds import add_mould
from supervisor.book.plans import Entry, KeptPlan, keep, plan_named, reckoned
from supervisor.book.proofs import dried, proof_of, stored_cold
from supervisor.book.verifying import verify
from supervisor.book.writing import Book, open_book
from supervisor.metal import dryness
from supervisor.metal.descent import Holder
from supervisor.metal.fit import Pot
from supervisor.metal.plan import Heating
from supervisor.refusal import InputRefused
from tests.supervisor.metal.at_hand import HOUR_MS, NOW_MS

FURNACE = Furnace("workshop", "A", "simulated", Pot(2.5, 95.0, 170.0))
HEATING = Heating("Ingots", 740.0, 720.0)
SOLID: dict[str, Any] = {"form": "solid_offcut", "alloy_name": "6082", "certainty": "marked"}
SEEN: dict[str, Any] = {"surface": "bare", "shape": "solid", "longest_mm": 60.0}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "book.db"


@pytest.fixture
def book(path: Path) -> Iterator[Book]:
    """Open for one transaction, with a dry lot of 3 kg and two dry moulds."""
    with open_book(path, who="Ada", sent_from="page", utc_ms=NOW_MS) as opened:
        lot = lots.add(opened, 3.0, origin="plate", name="plate ends", **SOLID, **SEEN)
        made = [add_mould(opened, "tray", 600.0, mass_kg=4.0) for _ in range(2)]
        dried(opened, [("lot", lot.id), *(("mould", mould.id) for mould in made)], 160.0, 120.0)
        yield opened
    assert verify(path).fault == ""


def planned(book: Book, kg: float = 1.9, **changes: Any) -> KeptPlan:
    given = {"profile": "example/ingots-2kg", "mould_ids": (1, 2), "answers": {"air": "dry"}, **changes}
    return keep(book, [Entry(("lot", 1), kg)], **given)


def confirmed_now(book: Book, kept: KeptPlan, used: tuple[str, ...] = ("A-086",)) -> Confirmed:
    return confirm(book, kept, FURNACE, HEATING, used)


def test_a_confirmed_plan_gets_its_number_and_its_metal(book: Book) -> None:
    done = confirmed_now(book, planned(book))
    assert done.heat_number == "A-087"
    assert (done.charge.mass_kg, done.charge.alloy, done.charge.solidus_c) == (1.9, "6082", 585.0)
    assert left_kg(book, ("lot", 1)) == pytest.approx(1.1)
    assert left_kg(book, ("melt", melts.melt(book, "A-087").id)) == pytest.approx(1.9)
    assert confirmed(book, "a-087", NOW_MS) == done
    assert plans.plans(book) == []
    with pytest.raises(InputRefused, match="P-001 was taken to the furnace already"):
        confirmed_now(book, plan_named(book, "P-001"))
    with pytest.raises(InputRefused, match=r"^P-001 became the charge A-087; allowed: a new plan$"):
        planned(book, code="P-001")


@pytest.mark.parametrize("used", [("A-086", "A-101", "B-300", "A-001"), ("A-101",)])
def test_no_heat_number_is_given_twice(book: Book, used: tuple[str, ...]) -> None:
    assert next_heat_number(book, "A", used) == "A-102"
    first = confirmed_now(book, planned(book, 0.5), used).heat_number
    second = confirmed_now(book, planned(book, 0.5), used).heat_number
    assert (first, second) == ("A-102", "A-103")


def test_a_quarantine_between_plan_and_furnace_is_seen(book: Book) -> None:
    kept = planned(book)
    assert not reckoned(book, kept, FURNACE.pot, HEATING, NOW_MS).blocking
    quarantine.set_quarantine(book, Holder("lot", 1), "lead found")
    with pytest.raises(
        InputRefused, match=r"^Quarantine: L-1 is under quarantine: lead found\. Take it out of the plan"
    ):
        confirmed_now(book, kept)
    assert left_kg(book, ("lot", 1)) == 3.0


def test_what_was_said_yesterday_is_asked_again_though_the_plan_was_changed_since(book: Book) -> None:
    asked = {"name": "unknown", "form": "solid_offcut", "alloy_name": "unknown", "surface": "bare", "shape": "solid"}
    lots.add(book, 1.0, **asked)
    kept = keep(book, [Entry(("lot", 2), 0.9)], answers={"air": "dry", "unknown": "yes"})
    book.utc_ms = NOW_MS + 11 * HOUR_MS
    kept = keep(book, kept.entries, code=kept.code, name="the same, by its name", answers={"air": "damp"}, carried=kept)

    def met(after_h: float) -> dict[str, bool]:
        found = reckoned(book, plan_named(book, kept.code), FURNACE.pot, None, NOW_MS + round(after_h * HOUR_MS))
        return {each.id: each.met for each in found.conditions if each.id in ("air", "unknown")}

    assert met(11.5) == {"air": True, "unknown": True}
    assert met(12.5) == {"air": True, "unknown": False}
    assert met(23.5) == {"air": False, "unknown": False}


def test_a_proof_of_a_clock_that_ran_ahead_is_doubt_and_hides_no_later_one(book: Book) -> None:
    lot = lots.add(book, 1.0, **SOLID)

    def why(now_ms: int) -> str:
        return dryness.refusal(lot.code, proof_of(book, ("lot", lot.id)), now_ms)

    book.utc_ms = NOW_MS + 48 * HOUR_MS
    dried(book, [("lot", lot.id)], 200.0, 60.0)
    book.utc_ms = NOW_MS  # the clock was set
    assert "has a proof dated later than now" in why(NOW_MS)
    dried(book, [("lot", lot.id)], 150.0, 60.0)
    assert why(NOW_MS) == ""
    assert "was dried 13 h ago" in why(NOW_MS + 13 * HOUR_MS)
    assert "was dried 2 days ago" in why(NOW_MS + 49 * HOUR_MS), "when the wrong date has come, it is no proof either"
    stored_cold(book, ("lot", lot.id))
    assert "stored cold" in why(NOW_MS)


def test_a_proof_of_a_clock_that_ran_ahead_stays_doubt_when_its_date_comes(book: Book) -> None:
    lot = lots.add(book, 1.0, **SOLID)
    book.utc_ms = NOW_MS + 48 * HOUR_MS
    dried(book, [("lot", lot.id)], 200.0, 60.0)
    book.utc_ms = NOW_MS
    lots.add(book, 0.5, **SOLID)  # whatever is written next
    later_ms = NOW_MS + 49 * HOUR_MS
    refused = dryness.refusal(lot.code, proof_of(book, ("lot", lot.id)), later_ms)
    assert refused == "L-2 was dried, and then the clock was set back: that proof is over."


def test_metal_that_came_after_a_proof_of_a_clock_that_ran_ahead_ends_it(book: Book) -> None:
    lot, other = lots.add(book, 1.0, **SOLID), lots.add(book, 0.5, **SOLID)
    book.utc_ms = NOW_MS + 48 * HOUR_MS
    dried(book, [("lot", lot.id)], 200.0, 60.0)
    book.utc_ms = NOW_MS
    move(book, 0.5, ("lot", other.id), ("lot", lot.id), "returned")
    later_ms = NOW_MS + 49 * HOUR_MS
    assert "then other metal was put to it" in dryness.refusal(lot.code, proof_of(book, ("lot", lot.id)), later_ms)


def test_dryness_ends_with_the_hours_with_cold_store_and_with_other_metal(book: Book) -> None:
    kept = planned(book)
    late = reckoned(book, kept, FURNACE.pot, HEATING, NOW_MS + 13 * HOUR_MS)
    assert {"dry L-1", "air"} <= {each.id for each in late.blocking}  # what was said of the weather is asked again
    book.utc_ms = NOW_MS + 1000
    other = lots.add(book, 0.5, **SOLID)
    move(book, 0.5, ("lot", other.id), ("lot", 1), "returned")
    assert dryness.refusal("L-1", proof_of(book, ("lot", 1)), book.utc_ms).startswith(
        "L-1 was dried, and then other metal"
    )
    dried(book, [("lot", 1)], 200.0, 60.0)
    assert dryness.refusal("L-1", proof_of(book, ("lot", 1)), book.utc_ms) == ""
    stored_cold(book, ("lot", 1))
    assert "stored cold" in dryness.refusal("L-1", proof_of(book, ("lot", 1)), book.utc_ms)
    with pytest.raises(InputRefused, match="L-1 has no proof of dryness that still counts"):
        stored_cold(book, ("lot", 1))


@pytest.mark.parametrize(
    ("at_c", "minutes", "why"),
    [(100.0, 120.0, r"^at_c is 100; allowed: 150 to 350 °C"), (160.0, 20.0, r"^minutes is 20; allowed: 60 to 1440")],
)
def test_what_does_not_dry_is_no_proof(book: Book, at_c: float, minutes: float, why: str) -> None:
    with pytest.raises(InputRefused, match=why):
        dried(book, [("lot", 1)], at_c, minutes)


def test_a_heel_goes_into_the_next_plan_and_its_balance(book: Book) -> None:
    confirmed_now(book, planned(book))
    first = melts.melt(book, "A-087")
    pot.say(book, first, "heel", 0.2)
    kept = planned(book, 1.0)
    shown = reckoned(book, kept, FURNACE.pot, HEATING, NOW_MS)
    assert [item.name for item in shown.items] == ["heel of A-087", "L-1"]
    assert shown.mix.charged_kg == pytest.approx(1.2)
    assert [each.id for each in shown.blocking] == ["heel"]
    said = keep(book, kept.entries, code=kept.code, profile=kept.profile, mould_ids=kept.moulds,
                answers={"air": "dry", "heel": "yes"})  # fmt: skip
    done = confirmed_now(book, said)
    assert done.charge.mass_kg == pytest.approx(1.2)
    assert left_kg(book, ("melt", melts.melt(book, done.heat_number).id)) == pytest.approx(1.2)
    assert left_kg(book, ("melt", first.id)) == pytest.approx(1.7)


def test_a_charge_that_stayed_in_the_pot_goes_on_under_a_new_number(book: Book) -> None:
    confirmed_now(book, planned(book))
    pot.say(book, melts.melt(book, "A-087"), "charge stays")
    kept = keep(book, [], profile="x", mould_ids=(1, 2), answers={"air": "dry", "heel": "yes"})
    done = confirmed_now(book, kept)
    again = melts.melt(book, done.heat_number)
    assert (again.heat_number, again.continues, again.mass_kg) == ("A-088", 1, 1.9)


def test_a_plan_is_changed_by_a_new_version(book: Book) -> None:
    first = planned(book)
    second = planned(book, 1.5, code="p-001")
    assert (second.code, second.version) == ("P-001", 2)
    with pytest.raises(InputRefused, match="P-001 was changed meanwhile; look at it again"):
        confirmed_now(book, first)
    assert [each.entries[0].kg for each in plans.plans(book)] == [1.5]


def test_a_lot_named_twice_is_refused(book: Book) -> None:
    with pytest.raises(InputRefused, match=r"^L-1 is named twice; allowed: each lot once, with all of its mass$"):
        keep(book, [Entry(("lot", 1), 1.0), Entry(("lot", 1), 0.5)])


def test_what_is_known_of_a_lot_is_mended_and_what_was_believed_stays(book: Book) -> None:
    lots.describe(book, 1, alloy="2011", certainty="measured", measured={"Pb": 0.4})
    assert (lots.lot_of(book, 1).alloy, lots.lot_of(book, 1).measured) == ("2011", {"Pb": 0.4})
    rows = book.rows("SELECT alloy FROM lot_description WHERE lot_id = 1 ORDER BY id")
    assert [row["alloy"] for row in rows] == ["6082", "2011"]
    assert lots.weigh(book, 1, 2.8).kg == pytest.approx(2.8)
    assert lots.weigh(book, 1, 0.0).kg == 0.0
    assert [lot.id for lot in lots.lots(book)] == []
    with pytest.raises(InputRefused, match="alloy is '6O82'"):
        lots.describe(book, 1, alloy="6O82")


def test_what_is_not_said_of_a_lot_is_unknown(book: Book) -> None:
    lot = lots.add(book, 0.4, form="old_casting")
    assert (lot.alloy, lot.certainty, lot.surface, lot.shape) == ("unknown", "unknown", "not looked", "not looked")
    assert dryness.refusal(lot.code, proof_of(book, ("lot", lot.id)), NOW_MS) == "L-2 is not proved dry."
