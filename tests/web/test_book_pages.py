"""The pages of the book of metal: what is open of a melt, the shelf, quarantine and its reach, labels, additions."""

from pathlib import Path
from typing import Any

import pytest

from supervisor.book import lots, tree
from supervisor.book.proofs import dried
from supervisor.firing.commands import Note, NoteKind
from tests.supervisor.book.shop import Shop, story
from tests.supervisor.book.test_firings import fire
from tests.web.conftest import Browser, Clock
from tests.web.looking import said
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import AT_WORK, Snapshot, commands, made
from tests.web.snapshots import HEATING, IDLE, LIQUID
from tests.web.snapshots_pour import POURING
from tests.web.snapshots_trouble import CAME_BACK, TRIPPED


@pytest.fixture
def shop(data: Path, furnace: Scripted) -> Shop:
    made = Shop(data)
    story(made)
    return made


def page(phone: Browser, path: str, status: int = 200) -> str:
    answer = phone.get(path)
    assert answer.status_code == status, answer.text
    return said(answer.text)


def sent(phone: Browser, path: str, **form: Any) -> str:
    """Send a form, as fast as a person does, and read the page that it leads to."""
    phone.takes_s = 1.0
    answer = phone.post(path, data=form)
    assert answer.status_code in (303, 200, 400), answer.text
    return page(phone, answer.headers["Location"]) if answer.status_code == 303 else said(answer.text)


def test_the_list_says_what_came_out_and_what_is_open(phone: Browser, shop: Shop) -> None:
    shown = page(phone, "/melts")
    assert "Four melts, 6.8 kg of ingots." in shown
    assert "Four records are open: A-097, A-096, A-095, A-094." in shown


def test_the_record_of_a_melt_is_entered_and_closed_on_its_page(phone: Browser, data: Path, furnace: Scripted) -> None:
    shop = Shop(data)
    shop.lot("L-1", 4.0)
    shop.melt("A-001", backend="paper", L_1=2.4)
    assert "A-001: charged, not fired." in page(phone, "/melts/A-001")
    shown = sent(phone, "/melts/A-001/count", masses="0,58 0.58 580g 0.57", maker="Bo")
    assert "Done. A-001/1 to A-001/4 counted." in shown
    assert "Four ingots, 2.31 kg" in shown or "four ingots, 2.31 kg" in shown
    shown = sent(phone, "/melts/A-001/dross", dross="")
    assert "Not done. Mass is empty; it has no default." in shown
    assert "Dross of A-001: 0.060 kg." in sent(phone, "/melts/A-001/dross", dross="0.06")
    shown = page(phone, "/melts/A-001")
    assert "30 g not found: burned, splashed or stuck in the pot" in shown
    assert "Everything is entered: the record can be closed." in shown
    assert "Melt A-001 is closed." in sent(phone, "/melts/A-001/close")
    assert "is closed; open it again first" in sent(phone, "/melts/A-001/walk", seen="nothing")
    assert "is open again" in sent(phone, "/melts/A-001/again", reason="the scale was off")


def test_what_cannot_be_entered_is_answered_with_a_sentence(phone: Browser, shop: Shop, time: Clock) -> None:
    absurd = {"kg": "nan", "masses": "9" * 400, "dross": "-1", "what": "\0", "text": "x" * 9000}
    for what in ("count", "dross", "pot", "walk", "remark", "close", "again", "nonsense"):
        time.ahead_s += 60.0  # nobody types so fast, and so much in a minute is refused
        assert "Not done." in sent(phone, f"/melts/A-094/{what}", **absurd), what
    assert "Not done." in sent(phone, "/melts/A-094/count")
    assert phone.post("/melts/%00'/walk", data=absurd).status_code == 303


def test_a_bad_lot_shows_all_it_reached_with_a_mark_on_every_child(phone: Browser, shop: Shop) -> None:
    shown = sent(phone, "/metal/quarantine", name="l-31", reason="lead: it was AlCu6BiPb")
    assert "It reaches 14 more" in shown
    html = phone.get("/metal").text
    assert "One bad lot or ingot reached ten ingots: four of A-094, four of A-095, two of A-096." in said(html)
    tree_part = html.partition('class="fam"')[2].partition("</section>")[0]
    assert tree_part.count('class="tag"') == 15
    assert "lead 0.15 ± " in said(html)
    assert "A-096/2 is under quarantine" in page(phone, "/ingots/A-096-2")
    cleared = sent(phone, "/metal/clear", name="A-095", reason="analysed")
    assert "A-095 is clear, with what comes of it alone." in cleared
    assert "A-096/2 is on the shelf" in page(phone, "/ingots/A-096-2")


def test_a_quarantine_of_metal_in_the_pot_is_noted_at_the_furnace(
    phone: Browser, furnace: Scripted, shop: Shop
) -> None:
    furnace.show(HEATING, heat_number="A-096")
    sent(phone, "/metal/quarantine", name="L-31", reason="lead")
    notes = [each for each in furnace.asked if isinstance(each, Note)]
    assert [(each.kind, each.text) for each in notes] == [(NoteKind.QUARANTINE, "L-31: lead")]
    sent(phone, "/metal/quarantine", name="A-097", reason="another")
    assert len([each for each in furnace.asked if isinstance(each, Note)]) == 1
    sent(phone, "/metal/clear", name="L-31", reason="a mix-up")
    assert [each.kind for each in furnace.asked if isinstance(each, Note)][-1] is NoteKind.CLEARED


def test_an_ingot_is_noted_used_and_returned_on_its_page(phone: Browser, shop: Shop) -> None:
    assert "How did it cut?" in page(phone, "/ingots/A-097-1")
    assert "A-097/1: good, noted." in sent(phone, "/ingots/A-097-1/note", score="4", text="short chips")
    assert "score is 0; allowed: 1 to 5" in sent(phone, "/ingots/A-097-1/note", score="9")
    assert "A-097/1: 0.250 kg used, 0.650 kg left." in sent(phone, "/ingots/A-097-1/use", kg="0,25", text="bracket")
    shown = sent(phone, "/ingots/A-097-1/return", kg="0.2")
    assert "dry it before it is charged" in shown
    assert "up to 0.450 kg" in sent(phone, "/ingots/A-097-1/use", kg="3")
    assert "That is not in the book." in page(phone, "/ingots/B-1-1", status=404)


def test_whoever_scans_a_label_sees_todays_status(phone: Browser, stranger: Browser, shop: Shop) -> None:
    label = page(phone, "/ingots/A-096-2/label")
    assert "scan for today’s" in label
    assert "not for lifting, pressure, vehicles" in label
    assert "SIMULATED: no such ingot" in label
    assert "A-096/2: not under quarantine today." in page(stranger, "/I/A-096-2")
    shop.quarantine("L-31", "lead")
    assert "A-096/2: quarantine." in page(stranger, "/i/a-096-2")
    assert stranger.get("/ingots/A-096-2").status_code == 403
    assert "QUARANTINE" in page(phone, "/ingots/A-096-2/label")


def test_an_addition_is_judged_before_it_goes_in_and_recorded_as_what_it_was(
    phone: Browser, furnace: Scripted, shop: Shop
) -> None:
    furnace.show(HEATING, heat_number="A-097")
    shown = sent(phone, "/add", name="L-30", kg="0.3")
    assert "Do not add it." in shown
    assert "L-30 is not proved dry." in shown
    assert furnace.asked == []
    with shop.writing() as book:
        dried(book, [tree.named(book, "L-30")], 160.0, 90.0, ended_utc_ms=shop.now_ms - 1)
        lots.describe(book, tree.named(book, "L-30").id, origin="plate")
    shown = sent(phone, "/add/done", name="L-30", kg="0.3", epoch="3")
    assert "that is on record" in shown  # the shop's clock is years away: no proof of then counts now
    note = furnace.asked[-1]
    assert isinstance(note, Note)
    assert (note.kind, note.mass_kg, note.text) == (NoteKind.ADDITION, 0.3, "L-30 0.300 kg")


def test_an_ingot_says_all_that_was_added_of_a_lot(phone: Browser, furnace: Scripted, shop: Shop) -> None:
    furnace.show(HEATING, heat_number="A-097")
    shop.lot("L-40", 1.0)
    for kg in ("0.15", "0.15", "0.10"):
        sent(phone, "/add/done", name="L-40", kg=kg, epoch="3")
    assert "L-400.40 kgaddition" in page(phone, "/ingots/A-097-1")


OVER = made(LIQUID, state="complete", notes=AT_WORK, commands=commands("note"), heat_number="A-097")
CUT = made(TRIPPED, aftermath=CAME_BACK["aftermath"], commands=commands("note", "reset"), heat_number="A-097")


@pytest.mark.parametrize(
    ("snapshot", "why"),
    [
        (CUT, "Do not add charge: a cold or damp piece on metal that is liquid inside throws it."),
        (CAME_BACK, "Do not add charge: a cold or damp piece on metal that is liquid inside throws it."),
        (OVER, "The firing is over: nothing heats what goes in now."),
        (made(OVER, state="completing"), "The firing is over: nothing heats what goes in now."),
        (POURING, "The firing is over: nothing heats what goes in now."),
        (made(TRIPPED, heat_number="A-097"), "The firing is over: nothing heats what goes in now."),
        (IDLE, "No melt runs now."),
    ],
)
def test_nothing_is_added_but_to_a_firing_that_is_on_and_heats_on(
    phone: Browser, furnace: Scripted, shop: Shop, time: Clock, snapshot: Snapshot, why: str
) -> None:
    shop.now_ms = time.utc_ms()
    with shop.writing() as book:
        lots.describe(book, tree.named(book, "L-30").id, origin="plate")
        dried(book, [tree.named(book, "L-30")], 160.0, 90.0, ended_utc_ms=shop.now_ms - 1)
    furnace.show(HEATING, heat_number="A-097")
    assert "Nothing in the book speaks against it." in sent(phone, "/add", name="L-30", kg="0.1")
    assert 'href="/add"' in phone.get("/").text
    furnace.show(snapshot)
    assert 'href="/add"' not in phone.get("/").text
    for shown in (page(phone, "/add"), sent(phone, "/add", name="L-30", kg="0.1")):
        assert "Do not add it." in shown
        assert why in shown
        assert "It is in" not in shown
    shown = sent(phone, "/add/done", name="L-30", kg="0.1")
    assert "Not done." in shown
    assert "If it is in the pot all the same, note it on Furnace now" in shown
    assert furnace.asked == []


def test_a_dip_is_offered_while_something_may_be_liquid_and_never_after_the_pour(
    phone: Browser, furnace: Scripted
) -> None:
    for snapshot, offered in ((HEATING, True), (OVER, True), (made(OVER, may_be_liquid=False), False), (CUT, False)):
        furnace.show(snapshot)
        assert ("Dip, or look" in phone.get("/").text) is offered


def test_nothing_of_the_book_is_written_by_a_phone_that_only_looks(looker: Browser, shop: Shop) -> None:
    looker.takes_s = 1.0
    for path in ("/metal/quarantine", "/metal/clear", "/melts/A-094/walk", "/ingots/A-094-1/use", "/add", "/add/done"):
        assert looker.post(path, data={"name": "A-094", "reason": "x"}).status_code == 403
    assert "Put under quarantine" not in page(looker, "/metal")


def test_what_lay_in_a_firing_without_metal_gets_its_proof_on_the_page(
    phone: Browser, data: Path, furnace: Scripted
) -> None:
    shop = Shop(data)
    shop.lot("L-1", 4.0)
    fire(shop, (125, 160.0))
    assert "Nothing is written down." in page(phone, "/melts/1")
    shown = sent(phone, "/melts/1/prove", names="l-1", why="dry")
    assert "L-1: dry. The chamber was at 160 °C or more for 125 min" in shown
    assert "160 °C or more for 125 min" in page(phone, "/melts/1")
    assert "'X-9' is no lot or ingot" in sent(phone, "/melts/1/prove", names="X-9", why="dry").replace("&#39;", "'")
