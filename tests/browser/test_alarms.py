"""An alarm on a phone: seen, heard, acknowledged, shelved; and the rhythm of its sound is the furnace's own."""

import pytest
from playwright.sync_api import Browser, Page, expect

from supervisor.alarms.rhythm import BURSTS, asks_by_sound, sounds
from supervisor.firing.commands import Acknowledge, Shelve
from tests.browser.conftest import PHONE, Served, context, pair, readings, see, violations
from tests.browser.test_pages import overflow, too_small
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import made
from tests.web.snapshots import HEATING
from tests.web.snapshots_trouble import HELD_BY_LOG, TRIPPED

OFF = "Sound is off: tap to hear alarms"


@pytest.mark.parametrize("light", ["light", "dark"])
def test_the_first_screen_of_a_trip_says_cause_proof_and_act_without_scrolling(
    chromium: Browser, served: Served, furnace: Scripted, light: str
) -> None:
    with context(chromium, color_scheme=light) as phone:
        page = phone.new_page()
        pair(page, served)
        see(page, served, furnace, TRIPPED)
        for place, words in (
            ("h1", "Proved. The sensor wire broke."),
            (".alarms .do li span", "Switch off at the wall"),
        ):
            expect(page.locator(place).first).to_contain_text(words)
            box = page.locator(place).first.bounding_box()
            stop = page.locator(".stopbar").bounding_box()
            assert box
            assert stop
            assert box["y"] + box["height"] <= stop["y"], words
        page.locator("#followed summary").click()
        expect(page.locator("#followed")).to_contain_text("The over-temperature limiter opened")
        assert violations(page) == []
        assert overflow(page) <= 0
        assert too_small(page) == []


def test_an_alarm_comes_is_seen_and_is_acknowledged(phone: Page, served: Served, furnace: Scripted) -> None:
    see(phone, served, furnace, HEATING)
    expect(phone.locator(".alarms")).to_have_count(0)
    furnace.show(TRIPPED)
    expect(phone.locator(".alarms h2")).to_contain_text("Do this within 10 min")
    expect(phone.locator("h1")).to_have_attribute("aria-live", "assertive")
    phone.get_by_role("button", name="I have seen it").click()
    expect(phone.get_by_role("button", name="Done")).to_be_visible()
    assert isinstance(furnace.asked[-1], Acknowledge)
    seen = [{**alarm, "acknowledged": True, "state": "acknowledged"} for alarm in TRIPPED["alarms"]]
    furnace.show(TRIPPED, epoch=50, alarms=seen)
    expect(phone.get_by_role("button", name="I have seen it")).to_have_count(0, timeout=30_000)
    expect(phone.locator(".alarms .do")).to_contain_text("The sensor wire broke.")


def test_an_alarm_is_shelved_with_minutes_and_reason(phone: Page, served: Served, furnace: Scripted) -> None:
    see(phone, served, furnace, HELD_BY_LOG)
    phone.locator("#shelve-log-behind summary").click()
    phone.locator("#shelve-log-behind").get_by_label("For how long").select_option("20")
    phone.locator("#shelve-log-behind").get_by_label("Why").fill("a new card is on its way")
    assert too_small(phone) == []
    assert violations(phone) == []
    readings(phone, 2)  # the form stays as it was filled in while the page lives on
    phone.locator("#shelve-log-behind").get_by_role("button", name="Shelve it").click()
    expect(phone.get_by_role("button", name="Done")).to_be_visible()
    asked = furnace.asked[-1]
    assert isinstance(asked, Shelve)
    assert (asked.alarm, asked.minutes, asked.reason) == ("log-behind/1", 20.0, "a new card is on its way")
    shelf = {
        "watch": "log-behind", "sentence": "The log cannot be written.", "reason": asked.reason, "who": "Ada’s phone",
        "left_s": 1190.0, "stands": True,
    }  # fmt: skip
    furnace.show(HELD_BY_LOG, epoch=51, alarms=[], sound=None, shelved=[shelf])
    expect(phone.locator(".acts")).to_contain_text("20 min")
    assert violations(phone) == []


# --- sound ----------------------------------------------------------------------------------------------------------


def test_the_page_has_the_rhythm_of_the_sounder_beat_by_beat(phone: Page, served: Served, furnace: Scripted) -> None:
    see(phone, served, furnace, HEATING)
    heard = phone.evaluate(
        """async () => {
            const { sounds } = await import('/static/sound.js');
            return [0, 1, 2, 3].map(priority => [...Array(400).keys()].map(beat => sounds(priority, beat)));
        }"""
    )
    beats = [beat * 0.25 for beat in range(400)]
    assert heard[0] == [asks_by_sound(at_s) for at_s in beats]
    for priority in BURSTS:
        assert heard[priority] == [sounds(priority, 0.0, at_s) for at_s in beats]


def hear(phone: Page) -> None:
    """Have alarms heard, by a tap where the browser wants one."""
    bar = phone.locator("#soundbar[data-on]")
    bar.wait_for()
    if bar.get_attribute("data-on") == "false":
        phone.get_by_role("button", name=OFF).click()
    expect(bar).to_have_attribute("data-on", "true")


def test_until_somebody_taps_the_page_says_that_it_is_silent(stranger: Page, served: Served, furnace: Scripted) -> None:
    see(stranger, served, furnace, TRIPPED)
    bar = stranger.get_by_role("button", name=OFF)
    expect(bar).to_be_visible()
    box = bar.bounding_box()
    assert box
    assert box["height"] >= 48
    assert box["width"] > PHONE["width"] * 0.8
    bar.click()
    expect(bar).to_have_count(0)
    expect(stranger.get_by_text("Alarms sound here while this page is in front")).to_be_visible()


def test_a_trip_is_heard_and_a_silence_or_an_acknowledgement_ends_it(
    phone: Page, served: Served, furnace: Scripted
) -> None:
    phone.add_init_script("window.shaken = []; navigator.vibrate = p => { window.shaken.push(p); return true; };")
    see(phone, served, furnace, HEATING)
    hear(phone)
    quiet = phone.evaluate("window.shaken.length")
    readings(phone, 2)
    assert phone.evaluate("window.shaken.length") == quiet
    furnace.show(TRIPPED)
    phone.wait_for_function(f"window.shaken.length > {quiet + 3}")
    assert set(phone.evaluate(f"window.shaken.slice({quiet})")) == {500}
    furnace.show(TRIPPED, epoch=60, sound=None)
    phone.wait_for_function("document.getElementById('soundbar').dataset.sounding === 'no'")
    readings(phone, 2)
    after = phone.evaluate("window.shaken.length")
    readings(phone, 3)
    assert phone.evaluate("window.shaken.length") == after


def test_a_page_that_wakes_without_its_voice_says_so_again(phone: Page, served: Served, furnace: Scripted) -> None:
    phone.add_init_script(
        """const Real = window.AudioContext;
        window.AudioContext = class extends Real { constructor() { super(); window.voice = this; } };"""
    )
    see(phone, served, furnace, HEATING)
    hear(phone)
    # As a browser that wants a tap first.
    phone.evaluate("() => { window.voice.resume = () => new Promise(() => {}); }")
    phone.evaluate("() => { window.voice.suspend(); }")
    expect(phone.get_by_role("button", name=OFF)).to_be_visible()
    phone.evaluate("() => { delete window.voice.resume; }")
    phone.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(phone.locator("#soundbar")).to_have_attribute("data-on", "true")


def test_a_sign_that_is_wanted_ticks_on_the_page(phone: Page, served: Served, furnace: Scripted) -> None:
    see(phone, served, furnace, HEATING)
    wanted = made(HEATING, epoch=70, attendance={**HEATING["attendance"], "stage": "phone"})
    furnace.show(wanted)
    phone.wait_for_function("document.getElementById('soundbar').dataset.sounding === 'yes'")
    phone.wait_for_function("document.getElementById('soundbar').dataset.sounding === 'no'")
