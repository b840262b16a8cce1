"""A firing on the simulated furnace as a person with a phone makes it: by levers, never behind the page's back."""

import sys
from pathlib import Path

from playwright.sync_api import Page, expect

from tests.browser.conftest import Served, pair, serving

RUN = (sys.executable, "-u", "-m", "supervisor.cli", "run", "--simulated", "--host", "127.0.0.1", "--port", "0")


def running(data: Path, *, times_real: int) -> serving:
    """`meltkeeper run --simulated` with everything that it starts."""
    return serving([*RUN, "--times-real", str(times_real), "--data", str(data)], data)


def headline(page: Page, words: str) -> None:
    """Wait until the headline says it."""
    expect(page.locator("h1")).to_contain_text(words, timeout=60_000)


def lever(page: Page, command: str) -> None:
    """Tap the lever that sends a command."""
    page.locator(f"form[action='/{command}'] button").first.click()


def bench(page: Page, name: str) -> None:
    """Move a lever of the bench."""
    page.locator("#bench").get_by_role("button", name=name).click()


def go_on(page: Page, process_s: float) -> None:
    """Wait until the firing has lasted so much longer, on the furnace's clock."""
    page.evaluate(
        """seconds => new Promise(done => {
            let from = null;
            document.addEventListener('furnace', ({ detail: { point } }) => {
                from ??= point.t_s;
                if (point.t_s - from >= seconds) done();
            });
        })""",
        process_s,
    )


def start(page: Page, served: Served, *, paired: bool = False) -> None:
    """Choose the melt of 2 kg, charge the pot, confirm the cautions, start, hold the button: until it heats.

    paired: the phone is already.
    """
    if paired:
        page.goto(served.address)
    else:
        pair(page, served)
    page.get_by_role("button", name="Ingots, 2 kg of 6082 2.00 kg").click()
    page.get_by_text("On the bench the pot is still empty").wait_for()
    page.locator(".onbench").get_by_role("button", name="Charge the pot").click()
    page.get_by_text("On the bench the pot is still empty").wait_for(state="hidden")
    page.locator("#cautions-read").check()
    lever(page, "start")
    headline(page, "At the furnace: hold its button 3 s")
    bench(page, "Hold 3 s")
    headline(page, "Heating, all solid")
