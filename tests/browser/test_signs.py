"""A phone answers for its owner: three times, by what it shows, and then only the button at the furnace counts."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser.at_work import AtWork
from tests.browser.conftest import WEB, context, pair, serving, violations
from tests.supervisor.firing.watched import SHORT, may_go_away
from tests.supervisor.furnace_at_hand import bake, running


@pytest.fixture
def at_work(data: Path) -> Iterator[AtWork]:
    slow = bake(to_c=500.0, rate_c_per_h=60.0)
    it = AtWork(lambda: may_go_away(running(slow, start_c=300.0, described=SHORT)), data)
    yield it
    it.close()


@pytest.fixture
def page(chromium: Browser, data: Path, at_work: AtWork) -> Iterator[Page]:
    with (
        serving([*WEB, "--data", str(data), "--host", "127.0.0.1", "--port", "0"], data) as served,
        context(chromium) as phone,
    ):
        page = phone.new_page()
        pair(page, served)
        page.goto(served.address + "/")
        page.wait_for_function("document.querySelector('#rule .newest')")
        yield page


def ranges(page: Page) -> Locator:
    return page.locator("form[action='/attend'] button")


def spans(words: str, chamber_c: float) -> bool:
    low_c, high_c = (float(word) for word in words.replace("°C", "").split(" to "))
    return low_c <= chamber_c < high_c


def tap(page: Page, *, right: bool) -> None:
    """Look at the figure of the chamber, and tap as a person would, or would not."""
    expect(ranges(page)).to_have_count(3)
    chamber_c = float(page.locator(".fig b").first.inner_text().split()[0])
    for button in ranges(page).all():
        if spans(button.inner_text(), chamber_c) is right:
            button.click()
            return
    raise AssertionError("no such range is offered")


def asked(at_work: AtWork) -> None:
    at_work.hurry(lambda shown: shown["attendance"]["task"] is not None, 900.0)


def test_a_phone_answers_three_times_in_a_row_and_the_fourth_time_it_takes_a_press(page: Page, at_work: AtWork) -> None:
    said = page.locator("#signsaid")
    expect(page.locator(".head .then")).to_contain_text("Next sign by")
    expect(page.locator(".nextsign")).to_contain_text("3 more taps may come before a press.")
    asked(at_work)
    expect(page.locator("h1")).to_contain_text("there?")
    expect(ranges(page)).to_have_count(3)
    assert violations(page) == []
    sizes = [button.bounding_box() for button in ranges(page).all()]
    assert all(size is not None and size["height"] >= 56 and size["width"] >= 300 for size in sizes)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")

    tap(page, right=False)
    expect(said).to_contain_text("Not done. The chamber is not at that temperature.")
    expect(page.locator(".signs")).to_be_visible()
    for left in ("2 more may come from a phone.", "1 more may come from a phone.", "must be a press at the furnace."):
        asked(at_work)
        expect(page.locator(".signs")).to_be_visible()
        tap(page, right=True)
        expect(said).to_contain_text("Done. Seen: you are watching")
        expect(said).to_contain_text(left)
        expect(page.locator(".signs")).to_have_count(0)

    at_work.hurry(lambda shown: shown["attendance"]["stage"] == "asked", 900.0)
    expect(page.locator(".signs")).to_contain_text("Only a press at the furnace counts now.")
    expect(ranges(page)).to_have_count(0)
    fourth = page.evaluate(
        """async () => (await fetch('/attend', {method: 'POST', headers: {Accept: 'application/json'},
            body: new URLSearchParams({task: 9, choice: 1})})).json()"""
    )
    assert fourth["answer"] == "refused"
    assert "only a press at the furnace counts" in fourth["sentence"]
    at_work.press()
    expect(page.locator(".nextsign")).to_contain_text("3 more taps may come before a press.")


def test_an_overdue_sign_calls_from_the_page_and_says_when_it_is_held(page: Page, at_work: AtWork) -> None:
    at_work.hurry(lambda shown: shown["attendance"]["stage"] == "sounder", 900.0)
    expect(page.locator("#now")).to_have_attribute("data-tone", "act")
    expect(page.locator(".signs")).to_contain_text("s ago")
    expect(page.locator(".signs")).to_contain_text("Without one it is held at")
    at_work.hurry(lambda shown: shown["state"] == "held", 900.0)
    expect(page.locator("h1")).to_contain_text("Nobody answered: held. Heat ends")
    expect(ranges(page)).to_have_count(0)
    at_work.hurry(lambda shown: shown["state"] == "stopped", 900.0)
    expect(page.locator("h1")).to_contain_text("Stopped")


def test_the_ranges_are_offered_to_no_phone_that_nobody_paired(chromium: Browser, page: Page, at_work: AtWork) -> None:
    asked(at_work)
    with context(chromium) as other:
        passer_by = other.new_page()
        passer_by.goto(page.url)
        expect(passer_by.locator(".signs")).to_contain_text("This phone is not paired")
        expect(passer_by.locator("form[action='/attend']")).to_have_count(0)
