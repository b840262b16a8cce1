"""A plan: what stands against it and what mends that, fit and feed order, and what the supervisor is told."""

from typing import Any

import pytest

from supervisor.metal.conditions import Condition
from supervisor.metal.fit import Pot
from supervisor.metal.item import IN_THE_POT, Item
from supervisor.metal.plan import Heating, Plan, plan
from supervisor.metal.shrinkage import Mould
from tests.supervisor.metal.at_hand import DRY, NOW_MS, item

POT = Pot(2.5, 95.0, 170.0)
MOULDS = (Mould("M-1", "tray", 600.0, 4.0), Mould("M-2", "tray", 600.0, 4.0))
HEATING = Heating("Ingots", 740.0, 720.0)


def planned(*items: Item, **changes: Any) -> Plan:
    given: dict[str, Any] = {
        "moulds": MOULDS,
        "mould_proofs": dict.fromkeys(("M-1", "M-2"), DRY),
        "heating": HEATING,
        "answers": {"air": "dry"},
        "now_ms": NOW_MS,
    }
    return plan(items or (item(),), POT, **{**given, **changes})


def unmet(found: Plan) -> dict[str, Condition]:
    return {each.id: each for each in found.conditions if not each.met}


def test_all_in_order_may_be_confirmed() -> None:
    assert unmet(planned()) == {}
    assert planned().blocking == ()


@pytest.mark.parametrize(
    ("changes", "own_id", "said"),
    [
        ({"proof": None}, "dry L-1", "not proved dry"),
        ({"quarantine": "L-1 is under quarantine: lead."}, "quarantine L-1", "under quarantine"),
        ({"shape": "closed"}, "closed", "bursts under the metal"),
        ({"surface": "plated"}, "plated", "fume poisons"),
        ({"surface": "oily"}, "oily", "oil burns"),
        ({"form": "swarf_oily"}, "oily", "oily chips can burst"),
        ({"alloy": "535.0"}, "beryllium", "holds beryllium"),
        ({"origin": "aircraft", "certainty": "guess"}, "lithium", "may hold lithium, which explodes"),
        ({"alloy": "unknown", "measured": {"Mg": 90.0, "Al": 10.0}}, "pure magnesium", "mostly magnesium"),
        ({"alloy": "unknown", "measured": {"Mg": 99.9}}, "pure magnesium", "mostly magnesium"),
        ({"left_kg": 0.4}, "left L-1", "0.400 kg left, the plan takes 1.000"),
        ({"kg": 2.6}, "mass", "2.60 kg; working fill of the pot 2.5"),
        ({"longest_mm": 210.0}, "long L-1", "65 mm too long: it holds the lid up"),
    ],
)
def test_what_nobody_can_answer_for_blocks_whatever_is_ticked(changes: dict[str, Any], own_id: str, said: str) -> None:
    ticked = dict.fromkeys(("looked", "hollow", "painted", "chips", "unknown", "magnesium", own_id), "yes")
    found = planned(item(**changes), answers={"air": "dry", **ticked})
    missing = unmet(found)[own_id]
    assert missing.blocks == "start"
    assert said in missing.reason
    assert missing.mends
    assert missing in found.blocking


@pytest.mark.parametrize(
    ("changes", "own_id"),
    [
        ({"shape": "not looked"}, "looked"),
        ({"surface": "not looked"}, "looked"),
        ({"shape": "open"}, "hollow"),
        ({"surface": "painted"}, "painted"),
        ({"form": "swarf_dry"}, "chips"),
        ({"alloy": "unknown", "certainty": "unknown"}, "unknown"),
        ({"certainty": "guess"}, "unknown"),
        ({"alloy": "2011"}, "lead"),
        ({"alloy": "2011"}, "bismuth"),
        ({"alloy": "7075"}, "zinc"),
        ({"alloy": "5083"}, "magnesium"),
        ({"origin": IN_THE_POT, "proof": None}, "heel"),
    ],
)
def test_a_caution_waits_for_a_person_who_read_it(changes: dict[str, Any], own_id: str) -> None:
    before = planned(item(**changes))
    assert own_id in unmet(before)
    assert before.blocking
    asked = {each.id for each in before.conditions if each.asks}
    assert not planned(item(**changes), answers={"air": "dry", **dict.fromkeys(asked, "yes")} | {"air": "dry"}).blocking


def test_the_list_changes_with_the_charge() -> None:
    assert {each.id for each in planned().conditions} == {"mass", "dry", "air", "moulds", "profile"}


def test_a_damp_day_is_asked_and_has_its_caution() -> None:
    assert "air" in unmet(planned(answers={}))
    assert "damp" in unmet(planned(answers={"air": "damp"}))
    assert not planned(answers={"air": "damp", "damp": "yes"}).blocking


def test_a_mould_that_is_not_dry_waits_for_the_pour_not_the_start() -> None:
    found = planned(mould_proofs={})
    assert {each.blocks for each in unmet(found).values()} == {"pour"}
    assert not found.blocking


def test_moulds_that_do_not_take_it_all_block() -> None:
    found = planned(item(2.4), moulds=MOULDS[:1])
    assert unmet(found)["moulds"].reason == "1 take 1.35 kg of 2.36."
    assert [each.mould for each in found.moulds.filled] == ["M-1"]


def test_a_profile_that_is_too_cool_blocks() -> None:
    assert unmet(planned(heating=Heating("Dry", 220.0, None)))["profile"].blocks == "start"
    assert unmet(planned(heating=None))["profile"].mends == "Choose a profile"


@pytest.mark.parametrize(
    ("silicon", "said", "pours"),
    [(11.0, "below about 715 °C (as measured on AlSi11Cu2Fe).", "above 715 °C"), (8.5, "near 650 °C.", "above 700 °C")],
)
def test_sludge_is_told_with_the_temperature_that_was_measured_for_that_metal(
    silicon: float, said: str, pours: str
) -> None:
    measured = {"Al": 96.4 - silicon, "Si": silicon, "Cu": 2.0, "Fe": 1.0, "Mn": 0.6, "Cr": 0.0}
    (told,) = [
        each for each in planned(item(certainty="measured", measured=measured)).conditions if each.id == "sludge"
    ]
    assert told.met, "it blocks nothing"
    assert told.reason.endswith(said)
    assert told.mends.endswith(pours)


def test_small_pieces_first_and_chips_under_the_liquid() -> None:
    items = (
        item(0.3, name="L-1", form="swarf_dry"),
        item(0.5, name="L-2", longest_mm=130.0),
        item(0.4, name="L-3", form="thin_sheet"),
        item(0.4, name="L-4", longest_mm=40.0),
    )
    found = planned(*items).fit
    assert [step.items for step in found.order] == [("L-4",), ("L-2",), ("L-3",), ("L-1",)]
    assert {piece.item: piece.goes for piece in found.pieces if piece.item in ("L-2", "L-4")} == {
        "L-2": "stands",
        "L-4": "lies",
    }
    assert any("L-2" in why for why in found.may_hang)


def test_the_supervisor_is_told_the_lowest_solidus() -> None:
    found = planned(item(1.5), item(0.3, "2024", name="L-2")).frozen
    assert found.charge.mass_kg == 1.8
    assert found.charge.solidus_c == 502.0  # 2024: Aluminum Association, 935 °F
    assert found.charge.liquidus_c is not None
    assert 640.0 < found.charge.liquidus_c < 655.0
    assert found.pour_c == 720.0
    assert not found.unknown


@pytest.mark.parametrize("changes", [{"alloy": "unknown", "certainty": "unknown"}, {"certainty": "guess"}])
def test_one_uncertain_lot_makes_the_charge_unknown_for_the_gate(changes: dict[str, Any]) -> None:
    found = planned(item(1.5), item(0.1, name="L-2", **changes)).frozen
    assert found.unknown
    assert (found.charge.alloy, found.charge.solidus_c, found.charge.liquidus_c) == ("unknown", None, None)
    assert found.pour_c >= 708.0


def test_where_the_rule_does_not_hold_pure_aluminium_stands_in() -> None:
    found = planned(item(1.0, "413.0"), item(0.1, "413.0", name="L-2", certainty="likely", measured={"Si": 14.0}))
    assert found.liquidus.c == 582.0  # one alloy: as printed, NADCA table A-3-2
    mixed = planned(item(2.0, "413.0", measured={"Si": 14.0}), item(0.1, "A360.0", name="L-2"))
    assert mixed.liquidus.c is None
    assert mixed.frozen.charge.liquidus_c == 660.3
