"""The power came back, on a phone: the metal's state and what not to do are there before anything else."""

from playwright.sync_api import Browser, Page, expect

from supervisor.firing.commands import Reset
from tests.browser.conftest import Served, context, pair, see, violations
from tests.browser.test_pages import overflow, too_small
from tests.supervisor.logbook import event, opened, samples, scribe_of
from tests.web.scripted import Scripted
from tests.web.snapshots import STOPPED
from tests.web.snapshots_trouble import CAME_BACK


def test_the_first_screen_says_what_happened_and_what_the_metal_may_be(
    chromium: Browser, served: Served, furnace: Scripted
) -> None:
    with context(chromium) as phone:
        page = phone.new_page()
        page.set_viewport_size({"width": 360, "height": 740})
        pair(page, served)
        with scribe_of(served.data) as scribe:
            scribe.put([opened(1, heat_number="A-087"), *samples(60), event(60_000, 1)])
        see(page, served, furnace, CAME_BACK)
        page.locator("#strip canvas").wait_for()
        stop = page.locator(".stopbar").bounding_box()
        assert stop
        for words in ("The power came back", "It was away 42 min", "Metal may be liquid inside"):
            place = page.locator("#back").get_by_text(words).first
            expect(place).to_be_visible()
            box = place.bounding_box()
            assert box
            assert box["y"] + box["height"] <= stop["y"], words
        assert violations(page) == []
        assert overflow(page) <= 0
        assert too_small(page) == []


def test_a_page_that_was_open_before_draws_the_curve_of_what_was_cut(
    phone: Page, served: Served, furnace: Scripted
) -> None:
    see(phone, served, furnace, STOPPED)
    expect(phone.locator("#strip")).to_contain_text("No firing is on.")
    with scribe_of(served.data) as scribe:
        scribe.put([opened(1, heat_number="A-087"), *samples(60), event(60_000, 1)])
    furnace.show(CAME_BACK, epoch=60)
    phone.locator("#strip canvas").wait_for()
    expect(phone.get_by_text("Up to where it ended.")).to_be_visible()


def test_what_was_found_is_said_there_and_the_press_ends_it(phone: Page, served: Served, furnace: Scripted) -> None:
    see(phone, served, furnace, CAME_BACK)
    phone.get_by_label("What was found").fill("the whole street was dark")
    phone.get_by_role("button", name="Ask for the reset").click()
    expect(phone.get_by_role("button", name="Done")).to_be_visible()
    assert isinstance(furnace.asked[-1], Reset)
    furnace.show(STOPPED, epoch=60)
    expect(phone.locator("#back")).to_have_count(0, timeout=30_000)
