"""What is entered of the furnace itself: the lever says what became of it, and it is kept once."""

from playwright.sync_api import Browser, expect

from supervisor.book.writing import read_book
from supervisor.care.keeping import entries
from tests.browser.conftest import Served, context, pair
from tests.web.test_care import with_a_log


def test_a_sensor_check_is_kept_and_its_lever_says_so(chromium: Browser, served: Served) -> None:
    with_a_log(served.data)
    with context(chromium) as phone:
        page = phone.new_page()
        pair(page, served)
        page.goto(served.address + "/equipment")
        page.get_by_text("Enter a sensor check").click()
        page.get_by_label("It reads, °C").fill("0,5")
        lever = page.locator("#check-sensor button")
        lever.click()
        expect(lever).to_contain_text("Done")
    with read_book(served.data / "book.db") as book:
        assert [each.kind for each in entries(book)] == ["ice check"]
