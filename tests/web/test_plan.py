"""Weigh a lot in and plan a melt on the phone: the answer first, what stands against it, and the way to the furnace."""

from pathlib import Path
from typing import Any

import pytest

from hardware import clock
from supervisor.book import lots, quarantine
from supervisor.book.moulds import add_mould
from supervisor.book.plans import Entry, keep
from supervisor.book.proofs import dried, stored_cold
from supervisor.book.verifying import verify
from supervisor.book.writing import open_book, read_book
from supervisor.firing.commands import Note, NoteKind, Prepare
from supervisor.metal.descent import Holder
from tests.supervisor.book.shop import Shop
from tests.web.conftest import Browser
from tests.web.looking import said
from tests.web.scripted import Scripted
from tests.web.snapshots import HEATING, IDLE

PLATE = {"mass": "2,4", "form": "solid_offcut", "origin": "plate", "alloy": "6082", "certainty": "marked"}


def sent(phone: Browser, path: str, **form: Any) -> str:
    """Send a form, as fast as a person does, and read the page that it leads to."""
    phone.takes_s = 1.0
    answer = phone.post(path, data=form)
    assert answer.status_code == 303, answer.text
    return said(phone.get(answer.headers["Location"]).text)


def page(phone: Browser, path: str, status: int = 200) -> str:
    answer = phone.get(path)
    assert answer.status_code == status, answer.text
    return said(answer.text)


@pytest.fixture
def planned(phone: Browser, data: Path) -> Browser:
    """A plan of 1.9 kg of dry plate with two dry moulds; nobody has spoken of the weather."""
    with open_book(data / "book.db", who="Ada", sent_from="page", utc_ms=clock.utc_ms()) as book:
        lot = lots.add(
            book, 2.4, form="solid_offcut", origin="plate", alloy_name="6082", certainty="marked", surface="bare",
            shape="solid", longest_mm=60.0,
        )  # fmt: skip
        made = [add_mould(book, "tray", 600.0, mass_kg=5.0).id for _ in range(2)]
        dried(book, [("lot", lot.id), *(("mould", mould_id) for mould_id in made)], 160.0, 120.0)
        keep(book, [Entry(("lot", lot.id), 1.9)], profile="example/ingots-2kg", mould_ids=made)
    return phone


def test_a_lot_is_weighed_in_with_one_form(phone: Browser, data: Path) -> None:
    shown = sent(phone, "/lots", **PLATE)
    assert "Done. L-1: 2.400 kg of machine plate, jig, frame, taken for 6082." in shown
    shown = page(phone, "/lots/L-1")
    assert "L-1: 2.40 kg of machine plate, jig, frame." in shown
    assert "Taken for 6082 (marked); from limits, not measured. L-1 is not proved dry." in shown
    assert verify(data / "book.db").fault == ""


def test_the_alloy_may_be_what_the_origin_usually_is_and_counts_as_a_guess(phone: Browser) -> None:
    shown = sent(
        phone, "/lots", mass="0.9", form="solid_offcut", origin="bright_bar", alloy="by origin", certainty="marked"
    )
    assert "taken for 2011" in shown
    assert "Taken for 2011 (guess)" in page(phone, "/lots/L-1")


@pytest.mark.parametrize(
    ("form", "sentence"),
    [
        ({"mass": ""}, "Not done. Mass is empty; it has no default."),
        ({"mass": "2400"}, "If the scale shows grams, that is 2.400 kg."),
        ({"mass": "1,9", "form": ""}, "Not done. Form is not chosen; allowed: one of the buttons"),
        ({"alloy": "6O82"}, "6O82&#39;; allowed: 1100, 2011"),
        ({"longest_mm": "long"}, "long&#39;; allowed: a number, in mm"),
    ],
)
def test_what_cannot_be_gets_a_sentence_and_writes_nothing(
    phone: Browser, data: Path, form: dict[str, str], sentence: str
) -> None:
    assert sentence in sent(phone, "/lots", **{**PLATE, **form})
    with read_book(data / "book.db") as book:
        assert book.rows("SELECT * FROM lot") == []


def test_the_plan_begins_with_the_answer(planned: Browser) -> None:
    shown = page(planned, "/plan/P-001")
    assert "1.90 kg of machine plate, jig, frame makes two ingots near 6082 in about 95 minutes." in shown
    assert "About 3.4 kWh, 0.71 EUR. One condition is missing." in shown
    assert "Likely inside all limits of 6082" in shown
    assert "in about 40 min" in shown
    assert "Cost3.23 EUR1.82 EUR for each usable kgenergy 0.71, wear 1.00, metal 1.52" in shown.replace(
        " Cost ", "Cost"
    )


def test_a_plan_is_begun_with_masses_and_moulds_are_written_down_and_dried(phone: Browser) -> None:
    sent(phone, "/lots", **PLATE)
    assert "Done. L-1 counts as dry for 12 h" in sent(phone, "/lots/L-1/dry", at_c="160", minutes="120")
    assert "Done. M-1, tray: 600 ml." in sent(phone, "/moulds", name="tray", volume_ml="600", mass_kg="5")
    assert "P-001 is kept." in sent(phone, "/plan", lot="L-1", kg="1,9")
    assert "Done. M-1 counts as dry" in sent(phone, "/moulds/M-1/dry", plan="P-001", at_c="200", minutes="60")


def test_how_sure_a_liquidus_is_and_where_it_comes_from_is_said(phone: Browser) -> None:
    sent(phone, "/lots", **{**PLATE, "alloy": "by origin", "alloy_other": "413.0"})
    sent(phone, "/plan", lot="L-1", kg="1,9")
    assert "Liquidus about 582 °C, ± 10 K." in page(phone, "/plan/P-001")  # as printed: the rule ends at 12 % silicon
    sent(phone, "/lots", **{**PLATE, "alloy": "unknown"})
    sent(phone, "/plan", lot="L-2", kg="1,9")
    assert "Reckoned from pure aluminium, 660.3 °C." in page(phone, "/plan/P-002")


def test_a_plan_with_a_condition_missing_goes_nowhere(planned: Browser, furnace: Scripted, data: Path) -> None:
    shown = sent(planned, "/plan/P-001/take")
    assert "Not done. Weather asked: Not said yet." in shown
    assert furnace.asked == []
    with read_book(data / "book.db") as book:
        assert book.rows("SELECT * FROM melt") == []


def test_a_confirmed_plan_is_prepared_with_its_number_and_its_metal(planned: Browser, furnace: Scripted) -> None:
    sent(planned, "/plan/P-001/take", air="dry")
    (prepare,) = furnace.asked
    assert isinstance(prepare, Prepare)
    assert prepare.heat_number == "A-001"
    assert prepare.planned is not None
    charge = prepare.planned.charge
    assert (charge.mass_kg, charge.alloy, charge.solidus_c) == (1.9, "6082", 585.0)
    assert (charge.form, prepare.planned.pour_c) == ("solid off-cuts", 720.0)
    assert prepare.planned.dry_for_s == pytest.approx(12 * 3600.0, abs=60.0)
    assert "It is the charge A-001." in page(planned, "/plan/P-001")
    assert "No plan waits." in page(planned, "/plan")
    assert "L-1: 0.50 kg" in page(planned, "/lots/L-1")
    sent(planned, "/charge/A-001/prepare")
    assert [each.heat_number for each in furnace.asked if isinstance(each, Prepare)] == ["A-001", "A-001"]


def test_a_charge_that_is_put_aside_for_another_profile_is_named_and_comes_back_from_its_page(
    planned: Browser, furnace: Scripted
) -> None:
    sent(planned, "/plan/P-001/take", air="dry")
    furnace.show(IDLE, heat_number="A-001")
    assert "Prepare A-001 again" not in page(planned, "/melts/A-001")
    shown = sent(planned, "/prepare", profile="example/ingots-2kg")
    assert "A-001 (1.90 kg) was put aside, not started; its page under Melts prepares it again." in shown
    furnace.show(IDLE, heat_number="A-002")
    assert "put aside" not in sent(planned, "/prepare", profile="example/ingots-2kg")
    shown = page(planned, "/melts/A-001")
    assert "It was not fired." in shown
    assert "Prepare A-001 again" in shown
    sent(planned, "/charge/A-001/prepare")
    numbers = [each.heat_number for each in furnace.asked if isinstance(each, Prepare)]
    assert numbers == ["A-001", "A-002", "A-002", "A-001"]


def test_a_charge_is_prepared_again_by_who_may_and_while_the_furnace_may(
    planned: Browser, looker: Browser, furnace: Scripted
) -> None:
    sent(planned, "/plan/P-001/take", air="dry")
    assert "Prepare A-001 again" in page(planned, "/melts/A-001")
    assert "Prepare A-001 again" not in page(looker, "/melts/A-001")
    furnace.show(HEATING)
    assert "Prepare A-001 again" not in page(planned, "/melts/A-001")


START = {"profile": "Ingots, 2 kg", "top_c": "800", "longest_s": "12600", "allowance_wh": "3400", "epoch": "7"}


@pytest.mark.parametrize("what", ["quarantine", "cold"])
def test_what_changes_between_plan_and_start_stops_the_start(
    planned: Browser, furnace: Scripted, data: Path, what: str
) -> None:
    sent(planned, "/plan/P-001/take", air="dry")
    furnace.show(IDLE, heat_number="A-001")
    with open_book(data / "book.db", who="Bo", sent_from="page", utc_ms=clock.utc_ms()) as book:
        if what == "quarantine":
            quarantine.set_quarantine(book, Holder("lot", 1), "lead found")
        else:
            stored_cold(book, ("lot", 1))
    answer = planned.post("/start", data={**START, "cautions_read": "yes"}, headers={"Accept": "application/json"})
    why = {"quarantine": "A-001 is under quarantine", "cold": "L-1 was dried, and then stored cold"}[what]
    assert answer.json["answer"] == "refused"
    assert answer.json["sentence"].startswith(why)
    assert [type(each) for each in furnace.asked] == [Prepare]


def test_a_charge_that_waits_for_its_start_is_told_of_a_quarantine_and_not_prepared_again(
    planned: Browser, furnace: Scripted
) -> None:
    sent(planned, "/plan/P-001/take", air="dry")
    furnace.show(IDLE, heat_number="A-001")
    sent(planned, "/metal/quarantine", name="L-1", reason="lead found")
    note = furnace.asked[-1]
    assert isinstance(note, Note)
    assert (note.kind, note.text) == (NoteKind.QUARANTINE, "L-1: lead found")
    shown = sent(planned, "/charge/A-001/prepare")
    assert "Not done. A-001 is under quarantine: it holds metal of L-1 (lead found)." in shown
    assert len(furnace.asked) == 2
    sent(planned, "/metal/clear", name="L-1", reason="another lot was meant")
    assert [type(each) for each in furnace.asked] == [Prepare, Note, Note]


def test_other_metal_in_a_plan_is_looked_at_again(planned: Browser) -> None:
    sent(planned, "/lots", mass="0.5", form="swarf_dry", origin="machining", alloy="6082", certainty="marked")
    sent(planned, "/plan/P-001/answers", **{"air": "dry", "yes chips": "yes"})
    shown = sent(planned, "/plan/P-001", lot=["L-1", "L-2"], kg=["1.5", "0.4"], mould=["M-1", "M-2"],
                 profile="example/ingots-2kg")  # fmt: skip
    assert "Weather asked: missing" in shown
    assert "Chips go under the liquid: missing" in shown
    assert "L-2 is not proved dry." in shown


def test_what_stayed_in_the_pot_is_named_as_that_alone_and_with_more(phone: Browser, data: Path) -> None:
    shop = Shop(data)
    shop.lot("L-1", 6.0)
    shop.melt("A-001", L_1=1.2)
    sent(phone, "/melts/A-001/pot", what="charge stays")
    sent(phone, "/plan")
    assert "1.20 kg of what is in the pot makes" in page(phone, "/plan/P-001")
    sent(phone, "/plan", lot="L-1", kg="0.6")
    assert "1.80 kg of bin L-1 and what is in the pot makes" in page(phone, "/plan/P-002")


def test_an_ingot_that_a_plan_takes_is_proved_dry_on_its_own_page(phone: Browser, looker: Browser, data: Path) -> None:
    shop = Shop(data)
    shop.lot("L-1", 6.0)
    shop.melt("A-001", backend="paper", L_1=1.2)
    shop.cast("A-001", 0.6, 0.5)
    sent(phone, "/plan", lot=["L-1", "A-001/1"], kg=["0.5", "0.6"])
    plan = phone.get("/plan/P-001").text
    assert "A-001/1 is not proved dry." in said(plan)
    assert '<a href="/ingots/A-001-1#dry">Write it down.</a>' in plan
    assert '<a href="/lots/L-1#dry">Write it down.</a>' in plan
    shown = page(phone, "/ingots/A-001-1")
    assert "A-001/1 is not proved dry." in shown
    assert "150 °C or more for two hours; one hour is the least that counts. A proof ends after 12 h." in shown
    assert "minutes is 20; allowed: 60 to 1440" in sent(phone, "/ingots/A-001-1/dry", at_c="160", minutes="20")
    assert "Done. A-001/1 counts as dry for 12 h" in sent(phone, "/ingots/A-001-1/dry", at_c="160", minutes="120")
    assert "Dry until" in page(phone, "/ingots/A-001-1")
    assert "A-001/1 is not proved dry." not in page(phone, "/plan/P-001")
    assert "Done. A-001/1 counts as dry no more." in sent(phone, "/ingots/A-001-1/cold")
    assert "A-001/1 was dried, and then stored cold" in page(phone, "/plan/P-001")
    assert "It came out of the oven" not in page(looker, "/ingots/A-001-1")
    assert looker.post("/ingots/A-001-1/dry", data={"at_c": "160", "minutes": "120"}).status_code == 403


def test_a_looking_phone_sees_plans_and_changes_none(planned: Browser, looker: Browser) -> None:
    assert "1.90 kg of machine plate" in page(looker, "/plan/P-001")
    assert "Take this plan" not in page(looker, "/plan/P-001")
    assert looker.post("/plan/P-001/take", data={"air": "dry"}).status_code == 403


def test_a_silent_supervisor_is_said(planned: Browser, furnace: Scripted) -> None:
    furnace.link.forecast_with(lambda profile, planned: (None, "It cannot be reckoned for this furnace."))
    sent(planned, "/plan/P-001", lot="L-1", kg="1.8", mould="M-1", profile="example/ingots-2kg")
    shown = page(planned, "/plan/P-001")
    assert "It cannot be reckoned for this furnace." in shown


@pytest.mark.parametrize("path", ["/plan/P-9", "/plan/%00", "/lots/L-9", "/lots/" + "9" * 300])
def test_what_is_not_there_is_said(phone: Browser, furnace: Scripted, path: str) -> None:
    assert phone.get(path).status_code == 404
