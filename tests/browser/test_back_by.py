"""Be back by, on a phone in a pocket: its own clock rings, it owns up when it moves, it does not outlive its truth."""

import re
import signal

import pytest
from playwright.sync_api import Browser, Page, expect

from hardware.clock import monotonic_s
from tests.browser.conftest import Served, context, pair, see
from tests.browser.test_pages import overflow, too_small
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import made
from tests.web.snapshots import HEATING
from tests.web.snapshots_people import AWAY, SOONER

GONE_WITHIN_S = 10.0
SLOW_MACHINE_S = 1.5


def test_a_frozen_server_takes_the_hour_away_within_ten_seconds(phone: Page, served: Served, furnace: Scripted) -> None:
    see(phone, served, furnace, AWAY)
    expect(phone.locator(".ring")).to_be_visible()
    expect(phone.locator(".rows li", has_text="Be back at the furnace")).to_be_visible()
    served.process.send_signal(signal.SIGSTOP)
    began_s = monotonic_s()
    try:
        phone.wait_for_function("!document.querySelector('h1').textContent.includes('Be back')", timeout=20_000)
        assert monotonic_s() - began_s <= GONE_WITHIN_S + SLOW_MACHINE_S
        expect(phone.locator("h1")).to_contain_text("This page is old")
        expect(phone.locator(".ring")).to_be_hidden()
        expect(phone.locator(".rows li", has_text="Be back at the furnace")).to_be_hidden()
        expect(phone.get_by_role("button", name="Stop heating")).to_be_visible()
    finally:
        served.process.send_signal(signal.SIGCONT)
    expect(phone.locator("h1")).to_contain_text("Be back by")


def test_one_tap_hands_the_hour_to_the_phones_own_calendar(phone: Page, served: Served, furnace: Scripted) -> None:
    see(phone, served, furnace, AWAY)
    ring = phone.locator("a.ring")
    box = ring.bounding_box()
    assert box is not None
    assert box["height"] >= 48
    assert ring.inner_text().startswith("Ring me at ")
    file = phone.request.get(served.address + str(ring.get_attribute("href")))
    assert file.headers["content-type"] == "text/calendar; charset=utf-8"
    assert file.body().startswith(b"BEGIN:VCALENDAR\r\n")
    assert file.body().count(b"BEGIN:VALARM\r\n") == 2
    furnace.show(HEATING)
    expect(ring).to_have_count(0)


def test_an_earlier_hour_is_heard_and_says_by_how_much_and_why(phone: Page, served: Served, furnace: Scripted) -> None:
    see(phone, served, furnace, AWAY)
    assert phone.locator("#soundbar").get_attribute("data-sounding") != "yes"
    furnace.show(SOONER)
    expect(phone.locator("h1")).to_contain_text("6 min sooner: the mains came up.")
    expect(phone.locator("#now")).to_have_attribute("data-tone", "wanted")
    expect(phone.locator("#soundbar")).to_have_attribute("data-sounding", "yes")
    later = made(SOONER, be_back={**SOONER["be_back"], "moved": {"by_s": 360, "because": "it was held", "ago_s": 1.0}})
    furnace.show(later, epoch=40)
    phone.wait_for_function("document.getElementById('soundbar').dataset.sounding !== 'yes'")


@pytest.mark.parametrize("path", ["/pour", "/why", "/notice", "/card"])
def test_its_other_pages_fit_a_narrow_phone_and_a_thumb(
    chromium: Browser, served: Served, furnace: Scripted, path: str
) -> None:
    furnace.show(AWAY)
    with context(chromium) as narrow:
        page = narrow.new_page()
        page.set_viewport_size({"width": 320, "height": 640})
        page.goto(served.address + path)
        page.wait_for_function("document.querySelector('#rule .newest')")
        assert overflow(page) <= 0
        assert too_small(page) == []


@pytest.mark.parametrize(("path", "width_pt", "height_pt"), [("/notice", 420, 595), ("/card", 595, 842)])
def test_the_notices_print_on_one_sheet_each(
    chromium: Browser, served: Served, furnace: Scripted, path: str, width_pt: int, height_pt: int
) -> None:
    furnace.show(HEATING)
    with context(chromium, size={"width": 1280, "height": 800}) as desk:
        page = desk.new_page()
        pair(page, served)
        page.goto(served.address + path)
        sheet = page.pdf(prefer_css_page_size=True)
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", sheet)
    assert len(re.findall(rb"/Type /Page\b", sheet)) == 1
    assert all(abs(float(w) - width_pt) < 2 and abs(float(h) - height_pt) < 2 for w, h in boxes)
    assert boxes
