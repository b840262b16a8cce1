"""Old numbers look old, answers are shown as given, and stop goes on until heat is proved off."""

import signal
from http.client import HTTPConnection

from playwright.sync_api import Browser, Page

from supervisor.firing.commands import Stop
from tests.browser.conftest import Served, context, readings, see
from tests.end_to_end.waiting import until
from tests.web.scripted import Scripted
from tests.web.snapshots import GATE, HEATING, IDLE, STOPPED
from tests.web.snapshots_trouble import TRIPPED
from web.feed import MOST_STREAMS


def stops(furnace: Scripted) -> int:
    return sum(isinstance(asked, Stop) for asked in furnace.asked)


def stale(page: Page, level: str, within_ms: int = 15_000) -> None:
    page.wait_for_function(f"document.getElementById('app').dataset.stale === '{level}'", timeout=within_ms)


def test_a_silent_supervisor_makes_the_page_pale_then_old_then_empty(
    phone: Page, served: Served, furnace: Scripted
) -> None:
    see(phone, served, furnace, GATE)
    assert "Press the button" in phone.locator("[data-region=asks]").inner_text()
    furnace.turning = False
    stale(phone, "pale", 6000)
    stale(phone, "old", 12_000)
    assert "This page is old" in phone.locator("h1").inner_text().replace("\n", " ")
    assert phone.locator("[data-region=asks]").is_hidden()
    assert phone.locator("form[action='/hold'] button").is_disabled()
    assert phone.get_by_text("Walk to the furnace and look.").is_visible()
    assert phone.get_by_role("button", name="Stop heating").is_enabled()
    stale(phone, "gone", 25_000)
    assert "– –" in phone.locator(".figs").inner_text()
    furnace.turning = True
    stale(phone, "")
    assert "The gate asks: go and press" in phone.locator("h1").inner_text().replace("\n", " ")
    assert phone.locator("form[action='/hold'] button").is_enabled()
    assert "541" in phone.locator(".figs").inner_text()


def test_a_frozen_server_makes_the_page_old_and_it_finds_its_way_back(
    phone: Page, served: Served, furnace: Scripted
) -> None:
    see(phone, served, furnace, HEATING)
    served.process.send_signal(signal.SIGSTOP)
    try:
        stale(phone, "old", 14_000)
        phone.get_by_role("button", name="Stop heating").click()
        phone.locator("#stopsaid", has_text="Not confirmed: switch off at the furnace").wait_for()
        furnace.show(TRIPPED)
    finally:
        served.process.send_signal(signal.SIGCONT)
    stale(phone, "")
    away = phone.locator("#away", has_text="Alarm: The sensor wire broke.")
    away.wait_for()
    assert "While you were away" in away.inner_text()
    phone.wait_for_function("document.getElementById('stopsaid').innerText.includes('Off, proved.')")
    assert stops(furnace)


def test_what_a_silent_supervisor_did_is_told_although_the_stream_stayed_open(
    phone: Page, served: Served, furnace: Scripted
) -> None:
    see(phone, served, furnace, HEATING)
    furnace.turning = False
    stale(phone, "old", 14_000)
    furnace.show(TRIPPED)  # not said yet: its first word is the trip
    furnace.turning = True
    stale(phone, "")
    away = phone.locator("#away", has_text="Alarm: The sensor wire broke.")
    away.wait_for()
    assert "While you were away" in away.inner_text()


def test_stop_is_repeated_until_off_is_proved(phone: Page, served: Served, furnace: Scripted) -> None:
    see(phone, served, furnace, HEATING)
    phone.get_by_role("button", name="Stop heating").click()
    phone.locator("#stopsaid", has_text="not proved yet").wait_for()
    until("two more stops", lambda: stops(furnace) >= 3)
    furnace.show(STOPPED)
    phone.wait_for_function("document.getElementById('stopsaid').innerText === 'Off, proved.'")
    asked = stops(furnace)
    readings(phone, 6)  # longer than two repetitions
    assert stops(furnace) == asked


def test_stop_that_nobody_confirms_says_so(phone: Page, served: Served, furnace: Scripted) -> None:
    see(phone, served, furnace, HEATING)
    furnace.answer = None
    phone.get_by_role("button", name="Stop heating").click()
    phone.locator("#stopsaid", has_text="Not confirmed: switch off at the furnace").wait_for()


def test_a_refusal_is_shown_on_its_lever_with_the_reason(phone: Page, served: Served, furnace: Scripted) -> None:
    see(phone, served, furnace, HEATING)
    furnace.answer = (False, "It is held already.")
    phone.locator("form[action='/hold'] button").click()
    lever = phone.locator("form[action='/hold'] button[data-answer=refused]")
    lever.wait_for()
    assert lever.inner_text() == "Not done\nIt is held already."


def test_no_answer_is_never_shown_as_done(phone: Page, served: Served, furnace: Scripted) -> None:
    see(phone, served, furnace, HEATING)
    furnace.answer = None
    phone.locator("form[action='/hold'] button").click()
    phone.locator("form[action='/hold'] button[data-answer=sent]").wait_for()
    lever = phone.locator("form[action='/hold'] button[data-answer=unknown]")
    lever.wait_for()
    assert lever.inner_text().startswith("No answer")


def test_an_answer_that_opened_the_page_goes_once_the_furnace_has_changed(
    phone: Page, served: Served, furnace: Scripted
) -> None:
    see(phone, served, furnace, IDLE)
    furnace.answer = (True, "Prepared: Ingots, 2 kg of 6082. Nothing heats yet.")
    phone.evaluate("document.querySelector(\"form[action='/prepare']\").submit()")  # as without script
    said = phone.get_by_text("Nothing heats yet.")
    said.wait_for()
    readings(phone, 3)
    assert said.is_visible()
    furnace.show(HEATING)
    said.wait_for(state="hidden")
    phone.reload()
    phone.locator("h1", has_text="Heating").wait_for()
    assert said.count() == 0


def test_a_double_tap_asks_once(phone: Page, served: Served, furnace: Scripted) -> None:
    see(phone, served, furnace, HEATING)
    phone.locator("form[action='/hold'] button").dblclick()
    phone.locator("form[action='/hold'] button[data-answer=accepted]").wait_for()
    assert len(furnace.asked) == 1


def test_the_phone_too_many_asks_instead_of_listening(chromium: Browser, served: Served, furnace: Scripted) -> None:
    furnace.show(HEATING)
    host = served.address.removeprefix("http://")
    streams = [HTTPConnection(host) for _ in range(MOST_STREAMS)]
    try:
        for stream in streams:
            stream.request("GET", "/live")
            assert stream.getresponse().readline() == b"retry: 2000\n"
        with context(chromium) as late:
            page = late.new_page()
            see(page, served, furnace, HEATING)
            furnace.show(HEATING, hot_junction={"c": 299.0, "age_s": 0.0, "fault": None})
            page.wait_for_function("document.querySelector('.figs').innerText.includes('299')")
            page.get_by_role("button", name="Stop heating").click()
            page.wait_for_function("!document.getElementById('stopsaid').hidden")
            until("the stop arrives", lambda: stops(furnace) > 0)
    finally:
        for stream in streams:
            stream.close()


def test_the_clock_of_the_phone_does_not_matter(chromium: Browser, served: Served, furnace: Scripted) -> None:
    with context(chromium) as wrong:
        page = wrong.new_page()
        page.add_init_script("const now = Date.now; Date.now = () => now() - 86400000;")
        see(page, served, furnace, HEATING)
        readings(page, 3)
        page.wait_for_function("/^[0-2] s old$/.test(document.getElementById('age').innerText)")
