"""What could be poured today: from what is proved dry, into moulds that are; or what is missing."""

from dataclasses import replace

import pytest

from supervisor.metal.dryness import Proof
from supervisor.metal.fit import Pot
from supervisor.metal.item import IN_THE_POT, Item
from supervisor.metal.plan import Heating
from supervisor.metal.programme import solve_all
from supervisor.metal.shrinkage import Mould
from supervisor.metal.today import Shop, Today, as_object, too_long
from supervisor.metal.today import today as reckon
from tests.supervisor.metal.at_hand import DRY, HOUR_MS, NOW_MS, item

OLD = Proof(NOW_MS - 13 * HOUR_MS, 160.0, 7200.0, "")
FAST = Heating("fast", 740.0, 720.0)
TRAYS = (Mould("M-1", "tray", 700.0, 5.0), Mould("M-2", "tray", 700.0, 5.0))


def lot(number: int, kg: float, alloy: str = "6082", **more: object) -> Item:
    return item(kg, alloy, name=f"L-{number}", left_kg=kg, **more)


def shop(*items: Item, proof: Proof | None = DRY, heating: Heating | None = FAST) -> Shop:
    pot = Pot(2.5, 95.0, 140.0)
    heel = [each for each in items if each.origin == IN_THE_POT]
    rest = [each for each in items if each.origin != IN_THE_POT]
    return Shop(rest, heel, pot, TRAYS, {"M-1": proof, "M-2": proof}, heating)


def today(there: Shop) -> Today:
    return reckon(there, solve_all, NOW_MS)


def test_three_at_most_the_surest_and_largest_first_each_with_its_reason() -> None:
    there = shop(lot(1, 2.0), lot(2, 1.4, "A356.0"), lot(3, 1.3, "5083"), lot(4, 2.0, "A380.0"))
    found = today(there)
    assert len(found.proposals) == 3
    assert found.missing == ""
    for each in found.proposals:
        assert sum(kg for _, kg in each.masses) <= 2.5
        assert each.plan.moulds.left_kg == 0.0
        assert "proved dry until" in each.reason
        assert not [c for c in each.plan.blocking if c.blocks == "start" and not c.asks]
    kg = [each.plan.mix.charged_kg for each in found.proposals if each.mix.holds == found.proposals[0].mix.holds]
    assert kg == sorted(kg, reverse=True)
    assert as_object(found.proposals[0], None)["asked"] == ["air"]


def test_wet_quarantined_and_unknown_metal_is_not_used_and_told() -> None:
    there = shop(
        lot(1, 2.0), lot(2, 2.0, proof=None), lot(3, 2.0, quarantine="L-3 is under quarantine: lead."),
        lot(4, 2.0, "unknown", certainty="unknown"),
    )  # fmt: skip
    found = today(there)
    assert [each.masses for each in found.proposals] == [(("L-1", 2.0),)]
    for said in ("L-2 is not proved dry", "L-3 is under quarantine: lead.", "L-4: nobody can say what it is"):
        assert said in found.missing


@pytest.mark.parametrize(
    ("there", "said"),
    [
        (shop(), "There is no metal: weigh something in."),
        (shop(lot(1, 2.0), heating=None), "There is no profile with metal"),
        (shop(lot(1, 2.0, proof=OLD)), "L-1 was dried 13 h ago; a proof ends after 12 h: 2.00 kg of plate ends."),
        (shop(lot(1, 2.0), proof=None), "No mould is proved dry: heat M-1, M-2 to 150 °C for 30 min or more."),
        (shop(lot(1, 0.2)), "6082: 0.20 kg are too little."),
        (shop(lot(1, 2.0), heating=Heating("cool", 600.0, None)), "6082: cool heats to 600 °C"),
        (shop(lot(1, 2.0, longest_mm=300.0)), "its longest piece is 300 mm"),
        (
            shop(lot(1, 2.0), item(0.5, "unknown", name="heel of A-001", certainty="unknown", origin=IN_THE_POT)),
            "heel of A-001 is unknown metal",
        ),
    ],
)
def test_none_is_a_sentence_that_says_what_is_missing(there: Shop, said: str) -> None:
    found = today(there)
    assert found.proposals == ()
    assert said in found.missing


def test_without_moulds_nothing_is_poured() -> None:
    found = today(shop(lot(1, 2.0))._replace(moulds=()))
    assert found.missing.startswith("No mould is written down")


def test_a_small_lot_is_filled_up_from_others_as_far_as_the_limits_go() -> None:
    found = today(shop(lot(1, 0.8, "6060"), lot(2, 2.0, "6063")))
    assert all(each.mix.holds != "short" for each in found.proposals)
    assert any(len(each.masses) == 2 for each in found.proposals)


def test_the_free_hours_end_after_the_pour_and_the_first_walk() -> None:
    forecast = {"minutes": {"likely": 90.0, "low": 80.0, "high": 105.0}}
    assert too_long(forecast, 2.5) == ""
    assert too_long(forecast, 2.0) == "takes up to 2.5 h with the pour, and 2 are free."
    assert too_long(forecast, None) == too_long(None, 1.0) == ""


def test_a_dry_proof_that_ends_soon_is_told_with_its_hour() -> None:
    soon = replace(lot(1, 2.0), proof=Proof(NOW_MS - 11 * HOUR_MS, 160.0, 7200.0, ""))
    (found,) = today(shop(soon)).proposals
    assert "M-1, M-2 dry and large enough" in found.reason


def test_moulds_that_are_still_warm_are_poured_first_and_called_so() -> None:
    there = shop(lot(1, 1.0))
    just_now = Proof(NOW_MS - HOUR_MS // 6, 200.0, 3600.0, "")
    (found,) = today(there._replace(mould_proofs={"M-1": DRY, "M-2": just_now})).proposals
    assert found.moulds == ("M-2",)
    assert "M-2 dry and large enough, M-2 likely still warm" in found.reason


def test_a_lot_that_was_analysed_goes_by_the_alloy_that_it_is_near() -> None:
    inside = {"Si": 7.0, "Fe": 0.12, "Mg": 0.33, "Ti": 0.1, "Al": 92.45}
    (found,) = today(shop(lot(1, 1.5, "unknown", certainty="measured", measured=inside))).proposals
    assert found.mix.wish.name == "A356.0"
    assert found.mix.holds == "likely"  # silicon to a tenth of itself reaches over 7.5
    assert not today(shop(lot(1, 1.5, "unknown", certainty="measured", measured={"Cu": 30.0, "Al": 70.0}))).proposals
