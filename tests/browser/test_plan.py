"""The pages of lots and plans on a phone: they fit, axe has nothing to say, and a lot is weighed in with few taps."""

from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from hardware import clock
from supervisor.book import lots
from supervisor.book.moulds import add_mould
from supervisor.book.plans import Entry, keep
from supervisor.book.writing import open_book
from tests.browser.conftest import Served, context, pair, see, violations
from tests.browser.test_pages import overflow, too_small
from tests.web.scripted import Scripted
from tests.web.snapshots import IDLE

PATHS = ("/lots/new", "/lots/L-1", "/lots/L-2", "/plan", "/plan/P-001", "/plan/best", "/plan/today", "/profiles")


def keep_a_plan(data: Path) -> None:
    """Bar ends and chips that nobody dried, in a plan with every kind of condition. All invented."""
    with open_book(data / "book.db", who="Ada", sent_from="page", utc_ms=clock.utc_ms()) as book:
        first = lots.add(book, 2.4, form="solid_offcut", origin="bright_bar", alloy_name="2011", longest_mm=210.0)
        second = lots.add(book, 0.5, form="swarf_dry", origin="machining", surface="painted", shape="open")
        mould = add_mould(book, "iron tray", 400.0, mass_kg=1.0)
        entries = [Entry(("lot", first.id), 1.5), Entry(("lot", second.id), 0.3)]
        keep(book, entries, profile="example/ingots-2kg", mould_ids=[mould.id], answers={"air": "damp"})


def test_pages_of_lots_and_plans_fit_a_phone(chromium: Browser, served: Served, furnace: Scripted) -> None:
    keep_a_plan(served.data)
    with context(chromium) as phone:
        page = phone.new_page()
        pair(page, served)
        see(page, served, furnace, IDLE)
        for path in PATHS:
            page.goto(served.address + path)
            for fold in page.locator("summary").all()[1:]:
                fold.click()
            assert violations(page) == [], path
            assert overflow(page) <= 0, path
            assert too_small(page) == [], path


def test_a_lot_is_weighed_in_with_a_number_and_four_taps(chromium: Browser, served: Served, furnace: Scripted) -> None:
    with context(chromium) as phone:
        page = phone.new_page()
        pair(page, served)
        page.goto(served.address + "/lots/new")
        expect(page.get_by_label("Mass, kg")).to_be_focused()
        page.keyboard.type("1,90")
        tap(page, "solid off-cuts")
        tap(page, "6082")
        tap(page, "marked")
        page.get_by_role("button", name="Weigh it in").click()
        expect(page.get_by_role("status")).to_contain_text("L-1: 1.900 kg of window or door frame, taken for 6082.")
        expect(page.get_by_label("Mass, kg")).to_be_focused()  # the next one may follow


def tap(page: Page, words: str) -> None:
    page.locator("label.tile", has_text=words).first.click()
