"""The whole program at work: furnace, supervisor, pages and log, each a process of its own, and a phone."""

import csv
import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from hardware.clock import utc_ms
from tests.browser.conftest import Served, context, pair, violations
from tests.browser.firing import bench, go_on, headline, lever, running, start
from web.book import Book
from web.pairing import new_code


@pytest.fixture
def served(data: Path) -> Iterator[Served]:
    with running(data, times_real=60) as it:
        yield it


def chamber_c(page: Page) -> float:
    return float(page.locator(".fig b").first.inner_text().split()[0])


def test_a_person_starts_watches_holds_goes_on_stops_and_finds_it_in_the_log(stranger: Page, served: Served) -> None:
    page = stranger
    start(page, served)
    expect(page.locator(".fig b").first).to_contain_text("°C")
    assert violations(page) == []  # with the bench
    page.wait_for_function("parseFloat(document.querySelector('.fig b').innerText) > 60", timeout=120_000)

    lever(page, "hold")
    headline(page, "Held by you, all solid")
    go_on(page, process_s=2.5)  # two rows of the log
    held_c = chamber_c(page)

    lever(page, "resume")
    headline(page, "Heating, all solid")
    page.wait_for_function(f"parseFloat(document.querySelector('.fig b').innerText) > {held_c + 30}", timeout=120_000)
    expect(page.locator("#strip canvas")).to_be_visible()

    page.get_by_role("button", name="Stop heating").click()
    expect(page.locator("#stopsaid")).to_have_text("Off, proved.")
    headline(page, "Stopped: do not touch before")
    headline(page, "off, proved.")

    page.goto(served.address + "/melts")
    page.locator(".melts a", has_text="A-001").click()
    expect(page.locator("main h1")).to_contain_text("A-001 was stopped.")
    page.locator("#hours summary").click()
    hours = page.locator("section", has_text="The hours").inner_text()
    for what in ("Ada’s phone: start", "The button was pressed: start", "Ada’s phone: hold", "Ada’s phone: resume"):
        assert what in hours
    assert "Ada’s phone: stop" in hours
    expect(page.locator("#strip canvas")).to_be_visible()
    with page.expect_download() as saved:
        page.get_by_role("link", name="Save as a table").click()
    assert saved.value.suggested_filename == "A-001.csv"
    rows = list(csv.DictReader(io.StringIO(Path(saved.value.path()).read_text())))
    assert len(rows) > 60
    assert max(float(row["hot_junction_c"]) for row in rows) > held_c + 20
    assert {"running", "held"} <= {row["state"] for row in rows}


def test_a_broken_sensor_trips_and_only_the_held_button_resets(stranger: Page, served: Served) -> None:
    page = stranger
    start(page, served)
    page.locator("#bench-fault").select_option("sensor_open")
    bench(page, "Break it")
    headline(page, "off")
    expect(page.locator("#now")).to_have_attribute("data-tone", "act")
    assert page.locator(".acts .do li").count() >= 1
    expect(page.locator("form[action='/prepare']")).to_have_count(0)

    lever(page, "acknowledge")
    expect(page.locator("form[action='/acknowledge']")).to_have_count(0)
    bench(page, "Mend")
    page.get_by_label("What was found").fill("The plug was pulled.")
    lever(page, "reset")
    headline(page, "At the furnace: hold its button 3 s")
    bench(page, "Hold 3 s")
    headline(page, "Choose a profile")


def test_a_phone_that_nobody_paired_stops_the_firing_of_another(
    chromium: Browser, stranger: Page, served: Served
) -> None:
    start(stranger, served)
    with context(chromium) as passer_by:
        page = passer_by.new_page()
        page.goto(served.address + "/")
        headline(page, "Heating, all solid")
        expect(page.locator("form[action='/hold']")).to_have_count(0)
        page.get_by_role("button", name="Stop heating").click()
        expect(page.locator("#stopsaid")).to_have_text("Off, proved.")
    headline(stranger, "stopped")


def test_a_phone_that_only_looks_gets_no_lever_of_the_bench(stranger: Page, served: Served) -> None:
    code = new_code(Book(served.data / "book.db"), utc_ms(), "look")
    pair(stranger, served._replace(code=code))
    expect(stranger.locator("#bench")).to_contain_text("A phone that is paired to run moves its levers.")
    expect(stranger.locator("#bench")).to_contain_text("In the pot: nothing.")
    assert stranger.locator("#bench form").count() == 0
