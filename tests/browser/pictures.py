"""Makes the pictures of docs/pictures on the simulated furnace: `python -m tests.browser.pictures`."""

import shutil
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from tests.browser.conftest import PHONE, context
from tests.browser.firing import running, start

PICTURES = Path("docs/pictures")
AT_C = 300


def main() -> None:
    """Heat a melt of 2 kg to AT_C and take the page as a phone shows it."""
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        with (
            running(Path(place), times_real=60) as served,
            context(chromium, size=PHONE, color_scheme="light") as phone,
        ):
            page = phone.new_page()
            start(page, served)
            hot = f"parseFloat(document.querySelector('.fig b').innerText) > {AT_C}"
            page.wait_for_function(hot, timeout=180_000)
            page.evaluate("scrollTo(0, 0)")
            page.wait_for_timeout(1500)
            page.screenshot(path=PICTURES / "furnace-now.png")
        chromium.close()


if __name__ == "__main__":
    main()
