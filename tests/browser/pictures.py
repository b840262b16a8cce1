"""Makes the pictures of docs/pictures on the simulated furnace: `python -m tests.browser.pictures`."""

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.browser.conftest import PHONE, context
from tests.browser.firing import bench, running, start

PICTURES = Path("docs/pictures")
PROFILE = "docs/examples/ingots-2kg.toml"
AT_C = 300
WITHIN_MS = 600_000


def learn(data: Path) -> None:
    """Three rehearsed melts, and what they teach."""
    rehearse = (sys.executable, "-m", "supervisor.cli", "rehearse", PROFILE, "--learn", "3", "--data", str(data))
    subprocess.run(rehearse, check=True, stdout=subprocess.DEVNULL)


def take(page: Page, name: str) -> None:
    """The page as a phone shows it, from its top."""
    page.evaluate("scrollTo(0, 0)")
    page.wait_for_timeout(1500)
    page.screenshot(path=PICTURES / f"{name}.png")


def main() -> None:
    """Learn, then heat a melt of 2 kg: at AT_C, half molten in the boost, the model, likely ready, the pour."""
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        learn(Path(place))
        chromium = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        with (
            running(Path(place), times_real=60) as served,
            context(chromium, size=PHONE, color_scheme="light") as phone,
        ):
            page = phone.new_page()
            start(page, served)
            bench(page, "Answer for me")
            hot = f"parseFloat(document.querySelector('.fig b').innerText) > {AT_C}"
            page.wait_for_function(hot, timeout=WITHIN_MS)
            take(page, "furnace-now")
            half = "document.querySelector('h1').innerText.includes('About half molten')"
            page.wait_for_function(half, timeout=WITHIN_MS)
            take(page, "furnace-melting")
            page.goto(f"{served.address}/model")
            page.get_by_text("Model against data").scroll_into_view_if_needed()
            page.evaluate("document.querySelector('figure.against').scrollIntoView({block: 'center'})")
            page.wait_for_timeout(1500)
            page.screenshot(path=PICTURES / "model.png")
            page.goto(served.address)
            ready = "document.querySelector('h1').innerText.includes('Likely ready')"
            page.wait_for_function(ready, timeout=WITHIN_MS)
            take(page, "furnace-ready")
            page.get_by_role("button", name="Stop heating").click()
            page.goto(f"{served.address}/pour")
            page.get_by_text("Look and dip, then decide.").wait_for(timeout=WITHIN_MS)
            take(page, "pour")
        chromium.close()


if __name__ == "__main__":
    main()
