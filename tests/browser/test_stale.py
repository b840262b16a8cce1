"""No page looks live that is older than ten seconds: words that come late, pages that are killed, a stream that never
comes. A frozen server and a silent supervisor are in test_alive.py."""

import signal
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from hardware.clock import monotonic_s
from tests.browser.between import Between
from tests.browser.conftest import DESK, PHONE, WEB, Served, context, readings, see, serving
from tests.web.scripted import Scripted
from tests.web.snapshots import HEATING, HELD
from tests.web.snapshots_trouble import TRIPPED

OLD = "['old', 'gone'].includes(document.getElementById('app').dataset.stale)"
LIVE = "document.getElementById('app')?.dataset.stale === '' && document.querySelector('#rule .newest')"
OLD_S = 10.0
LOOKS_S = 1.0
"""The page looks at its age four times a second; the rest is this machine's, which has other things to do."""


@pytest.fixture
def both(chromium: Browser) -> Iterator[tuple[Page, Page]]:
    """A phone and a desk."""
    with context(chromium, size=PHONE) as phone, context(chromium, size=DESK) as desk:
        yield phone.new_page(), desk.new_page()


def wait_until(pages: tuple[Page, ...], condition: str, within_s: float = 30.0) -> None:
    for page in pages:
        page.wait_for_function(condition, timeout=within_s * 1000)


def open_at(pages: tuple[Page, ...], address: str) -> None:
    for page in pages:
        page.goto(f"{address}/first")
        page.get_by_role("button", name="I have read all of it").click()
        page.wait_for_function(LIVE)


def test_words_that_come_late_are_shown_as_old_as_they_are(
    both: tuple[Page, Page], served: Served, furnace: Scripted
) -> None:
    furnace.show(HEATING)
    with Between(served.address) as between:
        open_at(both, between.address)
        between.delay_s = OLD_S + 2
        began_s = monotonic_s()
        wait_until(both, OLD)
        assert monotonic_s() - began_s <= OLD_S + LOOKS_S + 3
        for _ in range(8):  # words go on coming, each of them twelve seconds late
            furnace.wait(0.5)
            assert [page.evaluate(OLD) for page in both] == [True, True]
        between.delay_s = 0.0
        wait_until(both, LIVE)


def test_killed_pages_grow_old_and_come_back_with_what_happened(
    both: tuple[Page, Page], data: object, served: Served, furnace: Scripted
) -> None:
    furnace.show(HEATING)
    open_at(both, served.address)
    readings(both[0], 1)
    said_s = monotonic_s()
    served.process.kill()
    served.process.wait()
    wait_until(both, OLD)
    assert monotonic_s() - said_s <= OLD_S + LOOKS_S + 1
    for page in both:
        assert "This page is old" in page.locator("h1").inner_text().replace("\n", " ")
        assert page.get_by_role("button", name="Stop heating").is_enabled()
        assert page.locator(".stop small").inner_text() == "repeats until answered"
    furnace.show(TRIPPED)
    port = served.address.rpartition(":")[2]
    with serving([*WEB, "--data", str(served.data), "--host", "127.0.0.1", "--port", port], served.data):
        wait_until(both, LIVE)
        for page in both:
            page.locator("#away", has_text="these pages were started anew").wait_for()
            assert "off" in page.locator("h1").inner_text()


def test_a_page_whose_stream_never_comes_grows_old_all_the_same(
    both: tuple[Page, Page], served: Served, furnace: Scripted
) -> None:
    furnace.show(HEATING)
    open_at(both, served.address)
    for page in both:
        page.route("**/live?*", lambda route: route.abort())
        page.route("**/*.json*", lambda route: route.abort())
    drawn_s = monotonic_s()
    for page in both:
        page.reload()
        assert "276" in page.locator(".figs").inner_text()
    wait_until(both, OLD)
    assert monotonic_s() - drawn_s <= OLD_S + LOOKS_S + 2


def test_a_go_on_that_waited_in_stopped_pages_is_not_done_later(phone: Page, served: Served, furnace: Scripted) -> None:
    see(phone, served, furnace, HELD)
    served.process.send_signal(signal.SIGSTOP)
    try:
        phone.locator("form[action='/resume'] button").click()
        phone.locator("form[action='/resume'] button[data-answer=unknown]").wait_for()
    finally:
        served.process.send_signal(signal.SIGCONT)
    wait_until((phone,), LIVE)
    readings(phone, 2)
    assert furnace.asked == []
