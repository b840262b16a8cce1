"""The label of an ingot: as Chromium prints it, its code is read back and leads to the ingot."""

import io

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser

from tests.browser.conftest import Served, context, pair, violations
from tests.browser.test_pages import overflow, too_small
from tests.supervisor.book.shop import Shop, story
from tests.web.scripted import Scripted

pytestmark = pytest.mark.browser

DPI, PX_PER_INCH, MM_PER_INCH = 300, 96, 25.4


def mm(px: float) -> float:
    return px * MM_PER_INCH / PX_PER_INCH


def test_a_printed_label_is_read_back_and_leads_to_todays_status(
    chromium: Browser, served: Served, furnace: Scripted
) -> None:
    story(Shop(served.data))
    with context(chromium, size={"width": 800, "height": 600}, device_scale_factor=DPI / PX_PER_INCH) as desk:
        page = desk.new_page()
        pair(page, served)
        page.goto(served.address + "/ingots/A-096-2/label")
        page.emulate_media(media="print")
        label, code = page.locator("#label").bounding_box(), page.locator("#label .qr").bounding_box()
        assert label
        assert code
        assert (round(mm(label["width"])), round(mm(label["height"]))) == (62, 29)
        assert mm(code["width"]) == pytest.approx(25.0, abs=0.1)
        picture = Image.open(io.BytesIO(page.locator("#label").screenshot()))
        (found,) = zxingcpp.read_barcodes(picture)
        assert found.text == f"{served.address}/I/A-096-2".upper()
        assert "H" in found.ec_level
        text = page.locator("#label").inner_text()
        for words in ("A-096/2", "near", "0.70 kg", "scan for today’s", "not for lifting, pressure, vehicles"):
            assert words in text
        assert page.evaluate("e => e.scrollWidth <= e.clientWidth", page.locator("#label").element_handle())
        stranger = desk.browser.new_page() if desk.browser else None
        assert stranger is not None
        stranger.goto(found.text.replace("HTTP://", "http://"))
        assert "A-096/2: not under quarantine today." in stranger.locator("h1").inner_text()
        stranger.close()


def test_the_pages_of_metal_fit_a_phone(chromium: Browser, served: Served, furnace: Scripted) -> None:
    shop = Shop(served.data)
    story(shop)
    shop.quarantine("L-31", "lead: it was AlCu6BiPb")
    with context(chromium) as phone:
        page = phone.new_page()
        pair(page, served)
        for path in ("/metal", "/ingots/A-094-2", "/I/A-094-2", "/melts/A-094", "/add"):
            page.goto(served.address + path)
            for fold in page.locator("details.fold > summary").all():
                fold.click()
            assert overflow(page) == 0, path
            assert too_small(page) == [], path
            assert violations(page) == [], path
