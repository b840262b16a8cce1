"""Supervisor and pages at work: memory after an hour of firing, a stop by a tap, the loop's beat beside a flood."""

import os
import shutil
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from http.client import HTTPConnection
from itertools import pairwise
from pathlib import Path
from random import Random

from playwright.sync_api import Browser, Page, sync_playwright

from hardware.clock import monotonic_s, sleep_s
from hardware.ports import CYCLE_S
from tests.benchmarks.figure import Figure
from tests.benchmarks.web_phone import own_name, slow
from tests.browser.conftest import PHONE, WEB, Served, context, serving
from tests.end_to_end.page_stops import Flood, falls
from tests.end_to_end.site import PROGRAM, Site

PER_S = 200.0
HOUR_TIMES_REAL = 30.0
FURNACES = 3  # that take turns at being stopped
WARM_C = 100.0
START_TIMES_REAL, FAST_C_PER_H = 10.0, 2000.0
WITHOUT = ("setpriv", "--bounding-set", "-sys_nice", *PROGRAM)
"""The supervisor as one whom the system gives no real-time priority."""


def cpu_s(pid: int) -> float:
    """Processor time that a process has used. Source: proc(5), stat, fields 14 and 15."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def pss_mb(pid: int) -> float:
    """Memory of a process, what it shares counted by its share. Source: proc(5), smaps_rollup."""
    lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("Pss:")) * 1024 / 1e6


@contextmanager
def at_work(
    place: Path,
    *,
    times_real: float = 1.0,
    privileged: bool = True,
    host: str = "127.0.0.1",
    rate_c_per_h: float = 400.0,
) -> Iterator[tuple[Site, Served]]:
    """A furnace, its supervisor and its pages, each a process."""
    place.mkdir(exist_ok=True)
    with Site(place, times_real=times_real, rate_c_per_h=rate_c_per_h) as site:
        if not privileged:
            site.supervisor = WITHOUT
        site.start()
        with serving([*WEB, "--data", str(site.data), "--host", host, "--port", "0"], site.data) as served:
            yield site, served


def memory(place: Path, minutes: float) -> list[Figure]:
    """PSS of supervisor and pages after so long a firing, with two phones that listen and the pages opened."""
    with at_work(place, times_real=HOUR_TIMES_REAL) as (site, served):
        phones = [_listen(served) for _ in range(2)]
        site.fire()
        for _ in range(round(minutes * 12)):
            site.let_pass(5.0)
            if (site.snapshot() or {}).get("question"):  # while it is asked time goes at the person's pace
                site.press(0.5)
        for path in ("/", "/first", "/pair", "/strip/1.json", "/live.json?page=now"):
            _get(served, path)
        assert site.daemon is not None
        note = f"PSS after {minutes:.0f} min of firing at {HOUR_TIMES_REAL:.0f} x"
        rows = [
            Figure("daemon_pss_mb", pss_mb(site.daemon.pid), "MB", 60.0, note),
            Figure("web_pss_mb", pss_mb(served.process.pid), "MB", 70.0, f"{note}, two phones"),
        ]
        _get(served, "/metrics")
        rows.append(
            Figure("web_pss_collected_mb", pss_mb(served.process.pid), "MB", 70.0, "once a collector has asked")
        )
        for phone in phones:
            phone.close()
    return rows


def _listen(served: Served) -> HTTPConnection:
    connection = HTTPConnection(served.address.removeprefix("http://"), timeout=60)
    connection.request("GET", "/live?page=now")
    connection.getresponse().readline()
    return connection


def _get(served: Served, path: str) -> None:
    connection = HTTPConnection(served.address.removeprefix("http://"), timeout=60)
    connection.request("GET", path)
    connection.getresponse().read()
    connection.close()


def stops(place: Path, taps: int) -> list[Figure]:
    """From the tap on a slow phone to the last edge of relay and enable, in the furnace's own record.

    A start takes its time (permit and relay are proved, the button is held): while one furnace is tapped the others
    start, faster than time until they heat. The tap itself is at 1 x, one at a time.
    """
    name, random = own_name(), Random(1)
    with sync_playwright() as playwright, ExitStack() as open_:
        seats = [
            open_.enter_context(at_work(place / str(number), rate_c_per_h=FAST_C_PER_H))
            for number in range(min(FURNACES, taps))
        ]
        chromium = playwright.chromium.launch(
            executable_path=shutil.which("chromium"),
            args=["--no-sandbox", f"--host-resolver-rules=MAP {name} 127.0.0.1"],
        )
        open_.callback(chromium.close)
        pool = open_.enter_context(ThreadPoolExecutor(len(seats)))
        heated = [pool.submit(_heat, site) for site, _ in seats]
        pages = [_look_at(chromium, served.address.replace("127.0.0.1", name)) for _, served in seats]
        times_s = []
        for tap in range(taps):
            at = tap % len(seats)
            heated[at].result()
            times_s.append(_tap(seats[at][0], pages[at], random))
            if tap + len(seats) < taps:
                heated[at] = pool.submit(_heat, seats[at][0])
    p95_ms = 1000 * sorted(times_s)[int(0.95 * (len(times_s) - 1))]
    note = f"{taps} taps, processor / 6, 50 KB/s, 300 ms; worst {1000 * max(times_s):.0f} ms"
    return [Figure("stop_p95_ms", p95_ms, "ms", 1000.0, note)]


def _heat(site: Site) -> None:
    """Fire, up to a temperature from which it does not fall below 40 °C before the next start: then it would have to
    grow cold for the cold check, which takes hours."""
    site.bench(bench="pace", times_real=START_TIMES_REAL)
    site.fire()
    site.until("the furnace is warm", lambda: _chamber_c(site) >= WARM_C, within_s=300.0)
    site.bench(bench="pace", times_real=1)


def _chamber_c(site: Site) -> float:
    return float((site.snapshot() or {"hot_junction": {"c": None}})["hot_junction"]["c"] or 0.0)


def _look_at(chromium: Browser, address: str) -> Page:
    phone = context(chromium, size=PHONE)
    page = phone.new_page()
    slow(phone, page)
    page.goto(f"{address}/first")
    page.get_by_role("button", name="I have read all of it").click()
    return page


def _tap(site: Site, page: Page, random: Random) -> float:
    button = page.get_by_role("button", name="Stop heating")
    button.wait_for()
    sleep_s(random.uniform(1.0, 2.0))
    box = button.bounding_box()
    assert box is not None
    since = {line: len(site.edges(line)) for line in ("relay", "enable")}
    page.evaluate("document.getElementById('stopsaid').textContent = ''")  # what the last tap was answered
    began_s = monotonic_s()
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    site.until("relay and enable are off", lambda: falls(site, since) is not None)
    fell_s = falls(site, since)
    assert fell_s is not None
    site.wait_for("stopped")
    # until then the page asks again and again: the next firing would be stopped by this tap
    page.wait_for_function("document.getElementById('stopsaid').textContent.includes('Off, proved')", timeout=120_000)
    return fell_s - began_s


def loop(place: Path, seconds: float, name: str, *, privileged: bool) -> list[Figure]:
    """The loop's beat beside 200 requests a second: from edge to edge of the heat permit, as the furnace records it."""
    with at_work(place, privileged=privileged) as (site, served):
        site.fire()
        with Flood(served.address, PER_S) as flood:
            before = len(site.edges("permit"))
            sleep_s(seconds)
            at_s = [edge.real_s for edge in site.edges("permit")[before:]]
    periods = sorted(later - earlier for earlier, later in pairwise(at_s))
    p999 = periods[min(len(periods) - 1, int(0.999 * len(periods)))]
    note = (
        f"p99.9 of {len(periods)} periods / 250 ms, worst {1000 * periods[-1]:.0f} ms, {flood.said['per_s']} requests/s"
    )
    return [Figure(f"loop_p999_ratio{name}", p999 / CYCLE_S, "", 1.2, note)]
