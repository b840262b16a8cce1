"""The page Size on a phone: both ways round it fits, axe has nothing to say, and a number typed leads to an answer."""

from playwright.sync_api import Browser, expect

from tests.browser.conftest import Served, context, pair, see, violations
from tests.browser.test_pages import overflow, too_small
from tests.web.scripted import Scripted
from tests.web.snapshots import IDLE


def test_an_element_and_a_coil_are_sized_on_a_phone(chromium: Browser, served: Served, furnace: Scripted) -> None:
    with context(chromium) as phone:
        page = phone.new_page()
        pair(page, served)
        see(page, served, furnace, IDLE)
        page.goto(served.address + "/size")
        for label, typed in (
            ("Supply, V", "230"),
            ("Breaker, A", "16"),
            ("Across, mm or in", "190"),
            ("Depth, mm or in", "230"),
        ):
            page.get_by_label(label).fill(typed)
        page.get_by_label("Whose rule holds").select_option("eu-fixed")
        page.get_by_label("Inside: mm").first.fill("4,5 in")
        page.get_by_role("button", name="Reckon it").click()
        expect(page.get_by_role("heading", level=1)).to_contain_text("ohm cold")
        expect(page.locator("svg.sized")).to_be_visible()
        for fold in page.locator("main summary").all():
            fold.click()
        assert violations(page) == []
        assert overflow(page) <= 0
        assert too_small(page) == []
        page.get_by_role("link", name="I have a coil").click()
        page.get_by_label("Wire size").fill("1,4 mm")
        page.get_by_label("Length, m or ft").fill("22.5 m")
        page.get_by_role("button", name="Reckon it").click()
        expect(page.get_by_role("heading", level=1)).to_contain_text("22.50 m of 1.4 mm, 21.2 ohm cold")
        assert violations(page) == []
        assert overflow(page) <= 0
        assert too_small(page) == []
