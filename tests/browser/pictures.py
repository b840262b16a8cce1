"""Makes docs/pictures and docs/pictures.md: every page as a phone and a desk show it.

    python -m tests.browser.pictures [--data DIR]

All furnaces are simulated, all metal is invented: the example of `meltkeeper example`, copied from --data or made anew
(a minute on a quiet machine). Beside each picture stands the sentence that the page led with in that moment.
"""

import io
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

import click
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser.conftest import DESK, WEB, Served, context, pair, see, serving
from tests.browser.firing import bench, running, start
from tests.browser.shots import KEPT, SCRIPTED
from tests.web.scripted import Scripted
from tests.web.states import ALL

PICTURES, PAGE = Path("docs/pictures"), Path("docs/pictures.md")
AT_C = 300
WITHIN_MS = 600_000
CALM_COLOURS, VIVID_COLOURS = 24, 16
VIVID = 24  # the most by which red, green and blue of a grey differ
HEAD = """# Pictures

Every page as a phone (360 by 740) and a desk (1280 by 800) show it: simulated furnaces, invented metal. Beside each
stands the sentence that the page itself led with in that moment. Made by `python -m tests.browser.pictures`, never by
hand.
"""


class Taken(NamedTuple):
    """A pair of pictures, the page's own sentence, and what to see."""

    name: str
    sentence: str
    words: str

    @property
    def row(self) -> str:
        """Its part of docs/pictures.md."""
        both = (
            f"![{self.name}, on a phone](pictures/{self.name}.png)",
            f"![{self.name}, at a desk](pictures/{self.name}-desk.png)",
        )
        return f"## {self.words}\n\n*{self.sentence}*\n\n{both[0]}\n{both[1]}\n"


class Screens:
    """A phone and a desk, paired as one."""

    def __init__(self, chromium: Browser, served: Served, *, paired: bool = True) -> None:
        self.served = served
        self._phone = context(chromium, color_scheme="light")
        self.page = self._phone.new_page()
        if paired:
            pair(self.page, served)
        self._desk = context(chromium, size=DESK, color_scheme="light")
        self.desk = self._desk.new_page()

    def take(self, name: str, words: str, path: str = "") -> Taken:
        """Both screens from their top. path: empty: as the phone stands."""
        self._desk.add_cookies([{**each} for each in self._phone.cookies()])  # type: ignore[typeddict-item]
        if path:
            self.page.goto(self.served.address + path)
        pace = self.page.locator("#bench .paces")
        if pace.count():  # both screens show the same moment
            pace.get_by_role("button", name="1 x", exact=False).first.click()
        self.desk.goto(self.page.url)
        for page, end in ((self.page, ""), (self.desk, "-desk")):
            page.evaluate("scrollTo(0, 0)")
            page.wait_for_timeout(2000)
            _save(page.screenshot(), PICTURES / f"{name}{end}.png")
        if pace.count():
            pace.get_by_role("button", name="60 x").click()
        headed = self.page.locator("h1")
        said = " ".join((headed if headed.count() else self.page.locator("body")).first.inner_text().split()).replace(
            " .", "."
        )
        click.echo(f"{name}: {said[:120]}", err=True)
        return Taken(name, said[:200], words)


def _save(png: bytes, path: Path) -> None:
    """A picture of few colours, which is all that the pages have."""
    few(Image.open(io.BytesIO(png)).convert("RGB")).save(path, optimize=True)


def few(picture: Image.Image) -> Image.Image:
    """The same in few colours. Blue, orange and vermilion have colours of their own, however little is drawn with them:
    one palette for all would give them the grey that lies nearest."""
    colours = picture.getcolors(picture.width * picture.height) or []
    counted = [(count, colour) for count, colour in colours if isinstance(colour, tuple)]
    vivid = [each for each in counted if max(each[1]) - min(each[1]) > VIVID]
    calm = [each for each in counted if max(each[1]) - min(each[1]) <= VIVID]
    palette = Image.new("P", (1, 1))
    palette.putpalette([*_palette(calm, CALM_COLOURS), *_palette(vivid, VIVID_COLOURS)])
    return picture.quantize(palette=palette, dither=Image.Dither.NONE)


def _palette(counted: list[tuple[int, tuple[int, ...]]], most: int) -> list[int]:
    """Red, green and blue of each colour that stands for these."""
    if not counted:
        return []
    counted = sorted(counted, reverse=True)
    exact = [value for _, colour in counted[: most // 2] for value in colour]  # paper and ink as they are
    pixels = [colour for count, colour in counted[most // 2 :] for _ in range(max(1, round(count**0.5)))]
    if not pixels:
        return exact
    swatch = Image.new("RGB", (len(pixels), 1))
    swatch.putdata(pixels)
    rest = most - most // 2
    found = swatch.quantize(rest, dither=Image.Dither.NONE).getpalette() or []
    return exact + found[: 3 * rest]


def firing(screens: Screens) -> Iterator[Taken]:
    """A melt of 2 kg, 60 times as fast as time, from its start until a walk round is due."""
    page = screens.page
    start(page, screens.served, paired=True)
    bench(page, "Answer for me")
    hot = f"parseFloat(document.querySelector('.fig b').innerText) > {AT_C}"
    page.wait_for_function(hot, timeout=WITHIN_MS)
    yield screens.take("furnace-now", "Heating, all solid.")
    _until(page, "half molten")
    yield screens.take("furnace-melting", "Half molten, the chamber boosted on purpose.")
    yield screens.take("why", "Why: what each number and refusal rests on.", "/why")
    page.goto(screens.served.address)
    _until(page, "Likely ready")
    yield screens.take("furnace-ready", "Likely ready, heat still on.")
    page.get_by_role("button", name="Stop heating").click()
    page.goto(f"{screens.served.address}/pour")
    page.get_by_text("Look and dip, then decide.").wait_for(timeout=WITHIN_MS)
    yield screens.take("pour", "The pour screen: heat off and proved.")
    page.goto(screens.served.address)
    bench(page, "Empty the pot")
    page.locator("details.fold summary", has_text="Note").click()
    page.get_by_label("Poured").check()
    page.get_by_role("button", name="Write it down").click()
    _until(page, "do not touch before")
    yield screens.take("furnace-cooling", "Poured, and too hot to touch.")


def _until(page: Page, words: str) -> None:
    page.wait_for_function(
        "words => document.querySelector('h1').innerText.toLowerCase().includes(words)",
        arg=words.lower(),
        timeout=WITHIN_MS,
    )


def scripted(chromium: Browser) -> Iterator[Taken]:
    """States as the tests write them down."""
    with tempfile.TemporaryDirectory() as place:
        furnace = Scripted(Path(place))
        with serving([*WEB, "--data", place, "--host", "127.0.0.1", "--port", "0"], Path(place)) as served:
            screens = Screens(chromium, served)
            for state, words in SCRIPTED.items():
                see(screens.page, served, furnace, ALL[state])
                yield screens.take(f"state-{state.replace(' ', '-')}", words)
        furnace.close()


@contextmanager
def example(data: Path | None) -> Iterator[Path]:
    """A copy of the example, or one that is made now."""
    with tempfile.TemporaryDirectory(prefix="mk") as place:
        copy = Path(place) / "shop"
        if data is None:
            make = (sys.executable, "-m", "supervisor.cli", "example", "--data", str(copy))
            subprocess.run(make, check=True)
        else:
            shutil.copytree(data, copy)
        yield copy


@click.command()
@click.option("--data", type=click.Path(exists=True, path_type=Path), help="A whole example, to copy.")
@click.option("--only", type=click.Choice(["kept", "firing", "scripted"]), multiple=True)
def main(data: Path | None, only: tuple[str, ...]) -> None:
    """Take them all, and write the page."""
    PICTURES.mkdir(exist_ok=True)
    taken: list[Taken] = []
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        if not only or {"kept", "firing"} & set(only):
            with example(data) as shop, running(shop, times_real=60) as served:
                screens = Screens(chromium, served)
                if not only or "kept" in only:
                    taken += [screens.take(shot.name, shot.words, shot.path) for shot in KEPT]
                if not only or "firing" in only:
                    taken += firing(screens)
        if not only or "scripted" in only:
            taken += scripted(chromium)
        chromium.close()
    if not only:
        PAGE.write_text(HEAD + "\n" + "\n".join(each.row for each in taken), encoding="utf-8")


if __name__ == "__main__":
    main()
