"""The profile editor and the photograph of a lot at a phone's size: taps, sentences, picture, and no drag."""

from io import BytesIO

from PIL import Image
from playwright.sync_api import Browser, expect

from hardware import clock
from supervisor.book import lots
from supervisor.book.writing import open_book
from tests.browser.conftest import Served, context, pair, violations
from tests.browser.test_pages import overflow, too_small


def test_a_profile_is_changed_by_taps_and_saved_and_a_lot_gets_its_photograph(
    chromium: Browser, served: Served
) -> None:
    with context(chromium) as phone:
        page = phone.new_page()
        pair(page, served)
        page.goto(served.address + "/profiles/example/ingots-2kg")
        assert violations(page) == []
        assert overflow(page) <= 0
        assert too_small(page) == []
        first = page.locator("#segment-1")
        course = page.locator("svg.course polyline")
        before = course.get_attribute("points")
        page.get_by_role("button", name="Segment 1, to, °C: more").click()
        expect(first).to_contain_text("Ramp to 750 °C at 600 °C/h.")
        assert course.get_attribute("points") != before
        assert page.url.endswith("#segment-1")
        expect(page.locator("#segment-1")).to_be_in_viewport()  # the thumb stays where it was
        page.get_by_role("button", name="Down: segment 1").click()
        expect(page.locator("#segment-1")).to_contain_text("a ramp before the first hold")
        expect(page.locator("h1")).to_contain_text("not possible yet")
        assert violations(page) == []
        page.get_by_role("button", name="Up: segment 2").click()
        page.get_by_role("button", name="Remove segment 3").click()
        expect(page.locator("#segment-3")).to_have_count(0)
        page.get_by_label("Name").fill("Mine")
        page.get_by_role("button", name="Save a copy").click()
        expect(page.get_by_role("status").first).to_contain_text("own/mine is saved")
        assert "ramp_to_c = 750" in (served.data / "profiles" / "mine.toml").read_text(encoding="utf-8")

        with open_book(served.data / "book.db", who="Ada", sent_from="page", utc_ms=clock.utc_ms()) as book:
            lots.add(book, 2.4, form="solid_offcut")
        page.goto(served.address + "/lots/L-1")
        page.locator("input[type=file]").set_input_files(
            {"name": "lot.png", "mimeType": "image/png", "buffer": picture(2400, 1800)}
        )
        expect(page.locator(".photos img")).to_have_count(1)
        (kept,) = (served.data / "photographs").iterdir()
        with Image.open(kept) as seen:
            assert (seen.format, seen.size) == ("JPEG", (1600, 1200))
        assert violations(page) == []
        assert too_small(page) == []
        assert overflow(page) <= 0


def picture(wide: int, high: int) -> bytes:
    out = BytesIO()
    Image.linear_gradient("L").resize((wide, high)).convert("RGB").save(out, "PNG")
    return out.getvalue()
