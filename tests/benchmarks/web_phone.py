"""What a slow phone sees: bytes and milliseconds to the first number, of a second visit, of a strip of six hours."""

import shutil
import socket
from pathlib import Path
from statistics import median
from typing import Any, NamedTuple

from playwright.sync_api import Browser, BrowserContext, CDPSession, Page, sync_playwright

from supervisor.logbook.records import FiringClosed, FiringOpened
from tests.benchmarks.figure import Figure
from tests.browser.conftest import PHONE, WEB, Served, context, serving
from tests.supervisor.logbook import sample, scribe_of
from tests.web.scripted import Scripted
from tests.web.snapshots import HEATING

SIX_HOURS_S = 6 * 3600
SLOWER = 6
LINK = {"offline": False, "latency": 300, "downloadThroughput": 50_000, "uploadThroughput": 20_000}
SETTLED_MS = 3000
WATCH = """
    window.came = {};
    document.addEventListener('furnace', () => requestAnimationFrame(() => { came.live ??= performance.now(); }));
    new PerformanceObserver(list => {
        for (const paint of list.getEntries())
            if (paint.name === 'first-contentful-paint') came.paint ??= paint.startTime;
    }).observe({type: 'paint', buffered: true});
    const look = () => {
        if (document.querySelector('#strip canvas')) came.strip ??= performance.now();
        if (!came.strip || !came.live) requestAnimationFrame(look);
    };
    requestAnimationFrame(look);
"""


class Visit(NamedTuple):
    """One opening of a page: milliseconds from the start of the navigation, and bytes as they came over the link."""

    paint_ms: float  # the number as the page was drawn by the server
    live_ms: float  # the first number from the stream
    live_bytes: float
    all_bytes: float
    strip_ms: float | None  # from asking for its data to the drawn curve
    strip_bytes: float | None


def own_name() -> str:
    """A name that is not localhost and that the pages answer to."""
    return f"{socket.gethostname().lower().split('.')[0]}.local"


def keep_six_hours(data: Path) -> None:
    """A log with the firing that runs, six hours old, a sample a second. Invented."""
    with scribe_of(data) as scribe:
        scribe.put([FiringOpened(1, 100.0, "A-096", "A-096", "Ingots, 2 kg", {}, "simulated")])
        for hour in range(6):
            seconds = range(hour * 3600, (hour + 1) * 3600)
            scribe.put([sample(s * 1000, 1, hot_junction_c=_chamber_c(s), setpoint_c=_chamber_c(s)) for s in seconds])
        scribe.put([FiringClosed(1, SIX_HOURS_S * 1000, "complete", None, {"peak_c": 760.0, "energy_wh": 9000.0})])


def _chamber_c(t_s: int) -> float:
    """Up, on, down, with the ripple of a relay."""
    return min(20 + t_s / 12, 760.0, 760 - (t_s - 5 * 3600) / 9) + 1.5 * (t_s % 7 == 0)


def slow(phone: BrowserContext, page: Page) -> CDPSession:
    """Make a page's processor and link slow."""
    session = phone.new_cdp_session(page)
    session.send("Network.enable")
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    session.send("Network.emulateNetworkConditions", LINK)
    return session


def visit(phone: BrowserContext, address: str) -> Visit:
    """Open a page in a new tab, let it settle, close it."""
    page = phone.new_page()
    session = slow(phone, page)
    page.add_init_script(WATCH)
    came: list[tuple[float, float]] = []  # when, and how many bytes
    begun: list[float] = []

    def arrived(event: dict[str, Any]) -> None:
        came.append((event["timestamp"], float(event["encodedDataLength"])))

    def answered(event: dict[str, Any]) -> None:
        came.append((event["timestamp"], float(event["response"].get("encodedDataLength", 0))))

    session.on("Network.requestWillBeSent", lambda event: begun.append(event["timestamp"]))
    session.on("Network.responseReceived", answered)
    session.on("Network.dataReceived", arrived)
    page.goto(address)
    page.wait_for_function("came.live && came.paint && came.strip", timeout=120_000)
    page.wait_for_timeout(SETTLED_MS)
    times: dict[str, float] = page.evaluate("came")
    strip = page.evaluate(
        """() => performance.getEntriesByType('resource').filter(r => r.name.includes('/strip/'))
        .map(r => [r.startTime, r.transferSize])[0] ?? null"""
    )
    page.close()
    live_bytes = sum(size for at_s, size in came if at_s - begun[0] <= times["live"] / 1000)
    drawn = times.get("strip") if strip else None
    return Visit(
        times["paint"],
        times["live"],
        live_bytes,
        sum(size for _, size in came),
        drawn - strip[0] if drawn is not None else None,
        strip[1] if strip else None,
    )


def figures(place: Path, runs: int) -> list[Figure]:
    """Visits under a name that is not localhost."""
    name = own_name()
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(
            executable_path=shutil.which("chromium"),
            args=["--no-sandbox", f"--host-resolver-rules=MAP {name} 127.0.0.1"],
        )
        try:
            return measured(chromium, place, runs, name)
        finally:
            chromium.close()


def measured(chromium: Browser, place: Path, runs: int, name: str) -> list[Figure]:
    """First visit with an empty cache, second visit, and the strip of six hours, so many times each."""
    keep_six_hours(place)
    firing = {**HEATING["firing"], "id": 1, "elapsed_s": float(SIX_HOURS_S)}
    furnace = Scripted(place, {**HEATING, "firing": firing})
    try:
        with serving([*WEB, "--data", str(place), "--host", "127.0.0.1", "--port", "0"], place) as served:
            named = served._replace(address=served.address.replace("127.0.0.1", name))
            first, second = _visits(chromium, named, runs)
    finally:
        furnace.close()
    return _rows(first, second)


def _visits(chromium: Browser, served: Served, runs: int) -> tuple[list[Visit], list[Visit]]:
    first, second = [], []
    for _ in range(runs):
        with context(chromium, size=PHONE) as phone:
            first.append(visit(phone, served.address + "/"))
            second.append(visit(phone, served.address + "/"))
    return first, second


def _rows(first: list[Visit], second: list[Visit]) -> list[Figure]:
    def middle(values: list[float | None]) -> float:
        return median(value for value in values if value is not None)

    link = "Chromium 360 x 740, processor / 6, 50 KB/s, 300 ms, plain http name; median"
    return [
        Figure(
            "first_number_kb",
            middle([v.live_bytes for v in first]) / 1000,
            "KB",
            60.0,
            f"to the first live number; {link}",
        ),
        Figure("first_number_ms", middle([v.live_ms for v in first]), "ms", 3000.0, "from the stream, painted"),
        Figure(
            "first_paint_ms", middle([v.paint_ms for v in first]), "ms", None, "the number that the page was drawn with"
        ),
        Figure(
            "first_visit_kb", middle([v.all_bytes for v in first]) / 1000, "KB", 150.0, "with the chart and its curve"
        ),
        Figure("second_visit_ms", middle([v.paint_ms for v in second]), "ms", 1000.0, "to the first painted number"),
        Figure("second_visit_live_ms", middle([v.live_ms for v in second]), "ms", None, "to the first live number"),
        Figure(
            "strip_6h_ms", middle([v.strip_ms for v in second]), "ms", 600.0, "from asking for it to drawn, chart kept"
        ),
        Figure(
            "strip_6h_kb", middle([v.strip_bytes for v in second]) / 1000, "KB", 10.0, "of data for six hours at 1 Hz"
        ),
    ]
