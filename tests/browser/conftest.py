"""Chromium at a phone's size on the pages as `meltkeeper web` serves them."""

import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect, sync_playwright

from tests.web.scripted import Scripted
from tests.web.snapshot_parts import Snapshot

PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 800}
WEB = (sys.executable, "-u", "-m", "supervisor.cli", "web")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
AXE = Path(__file__).parent / "vendor" / "axe-core-4.14.1" / "axe.min.js"

expect.set_options(timeout=30_000)  # as patient as everything else that waits: a busy machine is slow, not wrong


class Served(NamedTuple):
    """Pages that are being served: where, the code for one phone, and their process."""

    address: str
    code: str
    process: subprocess.Popen[str]
    data: Path


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def chromium(playwright: Playwright) -> Iterator[Browser]:
    browser = playwright.chromium.launch(
        executable_path=shutil.which("chromium"),
        args=["--no-sandbox", "--disable-gpu", "--host-resolver-rules=MAP furnace.local 127.0.0.1"],
    )
    yield browser
    browser.close()


@pytest.fixture
def data() -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as place:
        yield Path(place)


@pytest.fixture
def furnace(data: Path) -> Iterator[Scripted]:
    scripted = Scripted(data)
    yield scripted
    scripted.close()


@pytest.fixture
def served(data: Path, furnace: Scripted) -> Iterator[Served]:
    with serving([*WEB, "--data", str(data), "--host", "127.0.0.1", "--port", "0"], data) as it:
        yield it


class serving:  # noqa: N801 - reads as a verb: with serving(...) as it
    """Runs a command that prints `Page:` and `Pairing code:`, and ends it afterwards."""

    def __init__(self, command: list[str], data: Path, *, code: bool = True) -> None:
        self.command = command
        self.data = data
        self.said = r"Page: (\S+)[\s\S]*Pairing code: (\S+)[\s\S]*Pair at" if code else r"Page: (\S+)()"

    def __enter__(self) -> Served:
        self.process = subprocess.Popen(self.command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        said = ""
        assert self.process.stdout
        for line in self.process.stdout:
            said += line
            if found := re.search(self.said, said):
                return Served(found[1].rstrip("/"), found[2], self.process, self.data)
        assert self.process.stderr
        raise AssertionError(f"it ended after saying {said!r} {self.process.stderr.read()!r}")

    def __exit__(self, *_: object) -> None:
        self.process.terminate()
        try:
            self.process.communicate(timeout=60)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.communicate()
            raise


def context(chromium: Browser, *, size: dict[str, int] = PHONE, **more: Any) -> BrowserContext:
    """A fresh phone, or a desk. What the tests evaluate in the page is not bound by the page's own policy."""
    more.setdefault("bypass_csp", True)
    hand: dict[str, Any] = {"is_mobile": True, "has_touch": True, "device_scale_factor": 2} if size is PHONE else {}
    return chromium.new_context(
        viewport={"width": size["width"], "height": size["height"]}, locale="en-GB", **hand, **more
    )


def see(page: Page, served: Served, furnace: Scripted, snapshot: Snapshot, **changes: Any) -> None:
    """Show a snapshot, open the first page, and wait until it is alive and has the headline of that snapshot."""
    furnace.show(snapshot, **changes)
    page.goto(served.address + "/")
    while page.url.endswith("/first"):  # by what the server had heard before, nothing is at work yet
        page.wait_for_timeout(100)
        page.goto(served.address + "/")
    headline = furnace.snapshot["headline"]
    words = [part for name in ("before", "key", "after") if "{" not in (part := headline[name])]
    page.wait_for_function(
        """words => {
            const said = document.querySelector('h1').textContent.replace(/\\s+/g, ' ');
            return document.querySelector('#rule .newest') && words.every(part => said.includes(part));
        }""",
        arg=words,
    )


def readings(page: Page, count: int) -> None:
    """Wait until the furnace has spoken to the page so many times more."""
    page.evaluate(
        """count => new Promise(done => {
            document.addEventListener('furnace', () => { count -= 1; if (count <= 0) done(); });
        })""",
        count,
    )


def violations(page: Page, *, contrast_only: bool = False) -> list[str]:
    """What axe says against a page as it stands."""
    if not page.evaluate("'axe' in window"):
        page.add_script_tag(path=str(AXE))
    only = {"type": "rule", "values": ["color-contrast"]} if contrast_only else {"type": "tag", "values": TAGS}
    found: dict[str, Any] = page.evaluate("only => axe.run(document, {runOnly: only})", only)
    assert found["passes"], "axe looked at nothing"
    return [f"{v['id']}: {v['help']}: {[n['html'][:120] for n in v['nodes']]}" for v in found["violations"]]


def pair(page: Page, served: Served) -> None:
    """Pair a phone and read the cautions, as its owner would."""
    page.goto(f"{served.address}/pair#{served.code.replace('-', '')}")
    page.get_by_label("Name of this phone").fill("Ada’s phone")
    page.get_by_role("button", name="Pair").click()
    page.get_by_role("button", name="I have read all of it").click()


@pytest.fixture
def stranger(chromium: Browser, served: Served) -> Iterator[Page]:
    """A phone that nobody paired."""
    with context(chromium) as phone:
        yield phone.new_page()


@pytest.fixture
def phone(stranger: Page, served: Served) -> Page:
    """A paired phone on the first page."""
    pair(stranger, served)
    return stranger
