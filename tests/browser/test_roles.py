"""A phone that looks, one that runs, one that nobody paired: what each is shown, and how one pairs the next."""

import io

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import DESK, PHONE, Served, context, pair, see, violations
from tests.browser.test_pages import overflow, too_small
from tests.web.scripted import Scripted
from tests.web.snapshots import GATE, HEATING, IDLE
from tests.web.snapshots_trouble import TRIPPED


def read_by_camera(page: Page) -> str:
    """What a camera reads off the picture on the screen."""
    shot = page.locator("svg.qr").screenshot()
    (found,) = zxingcpp.read_barcodes(Image.open(io.BytesIO(shot)))
    return str(found.text)


def fits(page: Page) -> None:
    """Nothing wider than the phone, smaller than a thumb or against the guidelines for everybody's access."""
    assert overflow(page) <= 0
    assert too_small(page) == []
    assert violations(page) == []


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_phone_that_runs_pairs_one_that_looks_by_its_camera(
    chromium: Browser, served: Served, furnace: Scripted, size: dict[str, int]
) -> None:
    with context(chromium, size=size) as first, context(chromium) as second:
        runs, looks = first.new_page(), second.new_page()
        pair(runs, served)
        runs.goto(served.address + "/settings")
        runs.get_by_role("button", name="Pair one to look").click()
        address = read_by_camera(runs)
        assert address.startswith(f"{served.address}/pair#")
        fits(runs)
        looks.goto(address)
        looks.get_by_label("Name of this phone").fill("Bo’s phone")
        looks.get_by_role("button", name="Pair").click()
        looks.get_by_role("button", name="I have read all of it").click()
        for snapshot in (HEATING, IDLE, GATE, TRIPPED):
            see(looks, served, furnace, snapshot)
            assert {form.get_attribute("action") for form in looks.locator("form.command").all()} <= {"/lower"}
            expect(looks.get_by_role("button", name="Stop heating")).to_be_visible()
        furnace.show(HEATING)
        looks.get_by_role("button", name="Stop heating").click()
        looks.locator("#stopsaid", has_text="not proved yet").wait_for()
        looks.goto(served.address + "/settings")
        assert "only looks" in looks.locator(".phones").inner_text()
        assert looks.get_by_role("button", name="Pair one to look").count() == 0
        fits(looks)
        runs.goto(served.address + "/settings/record")
        assert "Bo’s phone, paired to look POST /stop: accepted" in runs.locator(".record").inner_text().replace(
            "\n", " "
        )
        fits(runs)
        runs.goto(served.address + "/settings")
        runs.get_by_role("button", name="Revoke Bo’s phone").click()
        looks.goto(served.address + "/melts")
        assert "An unpaired phone sees the furnace, stops and lowers." in looks.locator("main").inner_text()
        assert looks.get_by_role("button", name="Stop heating").is_enabled()
        fits(looks)
