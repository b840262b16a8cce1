"""Every page on a phone: its parts fit, its targets are for a thumb, axe has nothing to say."""

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import DESK, PHONE, Served, context, pair, see, violations
from tests.web.kept import keep_firings
from tests.web.kept_melt import keep_a_melt
from tests.web.melting import METAL
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import headline, made
from tests.web.snapshots import HEATING, IDLE
from tests.web.states import ALL
from web.pages.menu import PAGES

PATHS = [
    *(row.path for row in PAGES),
    "/melts/1",
    "/melts/99",
    "/compare?melt=1",
    "/trends",
    "/pour",
    "/why",
    "/notice",
    "/card",
]


def too_small(page: Page) -> list[str]:
    """What can be tapped and is smaller than a thumb; links inside a sentence apart."""
    small: list[str] = page.evaluate(
        """() => [...document.querySelectorAll(
            'button, summary, select, textarea, input:not([type=hidden]), nav a, a.lever')]
        .filter(e => e.checkVisibility())
        .map(e => e.matches('[type=radio], [type=checkbox]') ? e.closest('label') : e)
        .filter(e => e.getBoundingClientRect().height < 47.5 || e.getBoundingClientRect().width < 47.5)
        .map(e => e.outerHTML.slice(0, 100))"""
    )
    return small


def overflow(page: Page) -> int:
    width: int = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    return width


def pages(page: Page, served: Served, furnace: Scripted) -> Iterator[str]:
    """Every page of the menu and beside it, one after the other, loaded once."""
    for path in PATHS:
        page.goto(served.address + path)
        yield path


def states(page: Page, served: Served, furnace: Scripted) -> Iterator[str]:
    """Furnace now in every state, its folds open."""
    for state, snapshot in {**ALL, **METAL}.items():
        see(page, served, furnace, snapshot)
        for fold in page.locator("summary.lever").all():
            fold.click()
        yield state


def in_each_light(page: Page) -> Iterator[str]:
    """The page as it stands, in light, dark and sun: only colours differ."""
    yield "light"
    page.emulate_media(color_scheme="dark")
    yield "dark"
    page.emulate_media(color_scheme="light")
    was = page.evaluate("document.documentElement.dataset.light ?? ''")
    page.evaluate("document.documentElement.dataset.light = 'sun'")
    yield "sun"
    page.evaluate("was => { document.documentElement.dataset.light = was || 'auto'; }", was)


@pytest.mark.parametrize("through", [pages, states])
def test_everything_fits_a_thumb_and_axe_has_nothing_to_say(
    chromium: Browser, served: Served, furnace: Scripted, through: Callable[[Page, Served, Scripted], Iterator[str]]
) -> None:
    keep_a_melt(served.data)
    wrong: list[Any] = []
    with context(chromium, color_scheme="light") as phone:
        page = phone.new_page()
        pair(page, served)
        for name in through(page, served, furnace):
            for width in (320, 360, 412):
                page.set_viewport_size({"width": width, "height": 740})
                page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
                wrong += [(name, width, f"{over} px too wide") for over in [overflow(page)] if over > 0]
                wrong += [(name, width, small) for small in too_small(page)]
            page.set_viewport_size({"width": PHONE["width"], "height": PHONE["height"]})
            for light in in_each_light(page):
                wrong += [(name, light, each) for each in violations(page, contrast_only=light != "light")]
    assert wrong == []


def test_a_phone_keeps_its_light(phone: Page, served: Served, furnace: Scripted) -> None:
    phone.goto(served.address + "/settings")
    phone.get_by_label("Sun").check()
    phone.get_by_role("button", name="Keep").click()
    expect(phone.locator("html")).to_have_attribute("data-light", "sun")


def test_no_key_is_wider_than_its_column(chromium: Browser, served: Served, furnace: Scripted) -> None:
    with context(chromium) as phone:
        page = phone.new_page()
        pair(page, served)
        page.set_viewport_size({"width": 320, "height": 740})
        short = ("off", "14:23", "nearly", "1.3 kg.", "100 °C", "12 min")
        for key in (*short, "stopped", "ordered", "unknown:", "Wasserstoff", "1 652 °F", "heat off"):
            see(page, served, furnace, HEATING, headline=headline("Now", key, "it is.", "calm"))
            room = page.evaluate("document.querySelector('.head h1').getBoundingClientRect().right")
            assert page.evaluate("document.querySelector('.head .key').scrollWidth") <= room - 12, key
            assert overflow(page) <= 0


def test_stop_is_under_the_thumb_wherever_the_page_is(phone: Page, served: Served, furnace: Scripted) -> None:
    for state, snapshot in ALL.items():
        see(phone, served, furnace, snapshot)
        for y in (0, 300, 900, 99999):
            phone.evaluate(f"scrollTo(0, {y})")
            box = phone.get_by_role("button", name="Stop heating").bounding_box()
            assert box
            assert box["height"] >= 72
            assert PHONE["height"] / 2 < box["y"] < PHONE["height"] - box["height"], (state, y)


def test_every_page_carries_headline_and_stop_while_heat_is_allowed(
    phone: Page, served: Served, furnace: Scripted
) -> None:
    furnace.show(HEATING)
    for row in PAGES[1:]:
        phone.goto(served.address + row.path)
        assert phone.get_by_role("button", name="Stop heating").is_visible()
        assert "Heating, all solid." in phone.locator(".oneline").inner_text()


def test_at_a_desk_every_lever_can_be_brought_clear_of_the_stop_bar(
    chromium: Browser, served: Served, furnace: Scripted
) -> None:
    with context(chromium, size=DESK) as desk:
        page = desk.new_page()
        pair(page, served)
        for state, snapshot in {**ALL, "likely ready": METAL["ready"], "mass": METAL["mass doubted"]}.items():
            see(page, served, furnace, snapshot)
            stop = page.get_by_role("button", name="Stop heating").bounding_box()
            assert stop
            if state in {"heating", "gate", "held", "liquid"}:  # nothing else is asked: all of them at one look
                page.wait_for_function(  # once it is laid out: a busy machine paints the words before the rest
                    """y => {
                        const levers = [...document.querySelectorAll('.side .levers>*')];
                        const low = Math.max(...levers.map(lever => lever.getBoundingClientRect().bottom));
                        return 0 < low && low <= y;
                    }""",
                    arg=stop["y"],
                )
            page.evaluate("scrollTo(0, 99999)")
            for lever in page.locator(".side .lever").all():
                box = lever.bounding_box()
                if not box or not lever.evaluate("lever => lever.checkVisibility()"):
                    continue
                assert box["y"] + box["height"] <= stop["y"], state


def test_whatever_is_reached_by_key_or_tap_on_a_phone_is_clear_of_the_stop_bar(
    phone: Page, served: Served, furnace: Scripted
) -> None:
    for state in ("melting, boost", "ready hot"):  # the longest headlines
        see(phone, served, furnace, METAL.get(state) or ALL[state])
        for from_y in (0, 99999):
            for lever in phone.locator(".side .lever, .figs a").all():
                if not lever.evaluate("lever => lever.checkVisibility()"):
                    continue
                phone.evaluate(f"scrollTo(0, {from_y})")
                lever.focus()
                box = lever.bounding_box()
                stop = phone.locator(".stopbar").bounding_box()
                assert box
                assert stop
                assert box["y"] + box["height"] <= stop["y"] + 12, (state, lever.inner_text())


def test_the_skip_link_goes_to_the_headline(phone: Page, served: Served, furnace: Scripted) -> None:
    phone.goto(served.address + "/")
    phone.keyboard.press("Tab")
    assert phone.locator(":focus").inner_text() == "To the headline"
    phone.keyboard.press("Enter")
    assert phone.evaluate("location.hash") == "#headline"


def test_looking_and_stopping_work_without_script(chromium: Browser, served: Served, furnace: Scripted) -> None:
    furnace.show(HEATING)
    with context(chromium, java_script_enabled=False) as phone:
        page = phone.new_page()
        page.goto(served.address + "/")
        assert "276 °C" in page.locator(".figs").inner_text()
        page.get_by_role("button", name="Stop heating").click()
        assert "Not confirmed: switch off at the furnace." in page.locator(".answer").inner_text()
        assert type(furnace.asked[-1]).__name__ == "Stop"


@pytest.fixture
def watched(phone: Page) -> Callable[[], list[str]]:
    """Errors and complaints that the page writes to its console."""
    said: list[str] = []
    phone.on("console", lambda message: said.append(message.text) if message.type in {"error", "warning"} else None)
    phone.on("pageerror", lambda error: said.append(str(error)))
    return lambda: said


def test_the_strip_is_drawn_and_a_tap_tells_that_minute(
    phone: Page, served: Served, furnace: Scripted, watched: Callable[[], list[str]]
) -> None:
    keep_firings(served.data)
    phone.goto(served.address + "/melts/1")
    canvas = phone.locator("#strip canvas")
    canvas.wait_for()
    box = phone.locator("#strip .u-over").bounding_box()
    assert box
    phone.locator("#strip .u-over").click(position={"x": box["width"] / 2, "y": 20})
    assert re.match(r"12:1[45]: chamber 2\d\d °C, setpoint", phone.locator("#minute").inner_text())
    dark = phone.evaluate(
        """() => { const c = document.querySelector('#strip canvas'), g = c.getContext('2d');
        const d = g.getImageData(0, 0, c.width, c.height).data; let n = 0;
        for (let i = 0; i < d.length; i += 4) if (d[i + 3] > 200 && d[i] < 60 && d[i + 1] < 60) n++; return n; }"""
    )
    assert dark > 500
    assert watched() == []


def test_the_strip_is_drawn_under_the_pages_own_policy(chromium: Browser, served: Served) -> None:
    keep_firings(served.data)
    said: list[str] = []
    with context(chromium, bypass_csp=False) as strict:
        page = strict.new_page()
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        pair(page, served)
        page.goto(served.address + "/melts/1")
        page.locator("#strip canvas").wait_for()
        page.locator("#rule .newest").wait_for(state="attached")
        page.goto(served.address + "/pair#ABCDEFGH")
        assert page.get_by_label("Code").input_value() == "ABCDEFGH"
        assert page.url.endswith("/pair")
    assert said == []


def test_the_live_strip_grows_with_the_firing(phone: Page, served: Served, furnace: Scripted) -> None:
    keep_firings(served.data)
    see(phone, served, furnace, HEATING)
    phone.locator("#strip canvas").wait_for()
    firing = {**HEATING["firing"], "elapsed_s": 1900.0}
    furnace.show(made(HEATING, firing=firing, hot_junction={"c": 301.0, "age_s": 0.0, "fault": None}))
    phone.wait_for_function("document.querySelector('.figs').innerText.includes('301')")
    phone.locator("#strip .u-over").click(position={"x": 5, "y": 20})
    assert "chamber" in phone.locator("#minute").inner_text()


def test_the_strip_shows_the_metal_as_estimated_and_what_is_expected(
    phone: Page, served: Served, furnace: Scripted, watched: Callable[[], list[str]]
) -> None:
    keep_a_melt(served.data, as_far_as_s=3060)
    melting = METAL["melting, boost"]
    see(phone, served, furnace, melting, firing={**melting["firing"], "id": 1, "elapsed_s": 3060.0})
    phone.locator("#strip canvas").wait_for()
    phone.wait_for_timeout(200)  # the curve of the log comes after the first point
    box = phone.locator("#strip .u-over").bounding_box()
    assert box
    phone.locator("#strip .u-over").click(position={"x": box["width"] / 4, "y": 60})
    said = phone.locator("#minute").inner_text()
    assert re.search(r"chamber \d+ °C, metal about \d+ °C \(\d+ °C to \d+ °C\), setpoint", said), said
    assert watched() == []


def test_typing_survives_the_next_reading(phone: Page, served: Served, furnace: Scripted) -> None:
    see(phone, served, furnace, HEATING)
    phone.locator("summary", has_text="Note").click()
    phone.get_by_label("In words").fill("lid seated")
    furnace.show(HEATING, hot_junction={"c": 288.0, "age_s": 0.0, "fault": None}, epoch=99)
    phone.wait_for_function("document.querySelector('.figs').innerText.includes('288')")
    assert phone.get_by_label("In words").input_value() == "lid seated"
    assert phone.locator("form:has([name=text]) [name=epoch]").get_attribute("value") == "99"


def test_a_start_cannot_be_sent_before_the_cautions_are_confirmed(
    phone: Page, served: Served, furnace: Scripted
) -> None:
    see(phone, served, furnace, IDLE)
    start = phone.locator("form[action='/start'] button")
    start.click()
    phone.wait_for_timeout(300)
    assert not furnace.asked
    phone.locator("#cautions-read").check()
    start.click()
    phone.wait_for_function("document.querySelector('form[action=\"/start\"] [data-answer=accepted]')")
    assert type(furnace.asked[-1]).__name__ == "Start"
