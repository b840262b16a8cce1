"""Twenty phones in a network of their own, whose bridge is taken down and up again. Needs root and `ip`."""

import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path
from statistics import median

from playwright.sync_api import sync_playwright

from hardware.clock import monotonic_s, sleep_s, utc_ms
from tests.benchmarks.figure import Figure
from tests.benchmarks.web_phone import own_name
from tests.benchmarks.web_work import at_work, cpu_s
from tests.browser.conftest import PHONE, context
from tests.end_to_end.waiting import until

SPACE, BRIDGE = "mk-phones", "mk-br"
PAGES_IP, PHONES_IP = "10.231.77.1", "10.231.77.2"
PHONES = 20
CUT_S = 15.0
GONE_WITHIN_S = 20.0
TALK = """
import selectors, socket, sys
host, port, count = sys.argv[1:]
ears = selectors.DefaultSelector()
for _ in range(int(count)):
    phone = socket.create_connection((host, int(port)))
    asked = f"GET /live?page=now HTTP/1.1\\r\\nHost: {host}:{port}\\r\\nAccept-Encoding: gzip\\r\\n\\r\\n"
    phone.sendall(asked.encode())
    ears.register(phone, selectors.EVENT_READ)
while True:
    for key, _ in ears.select():
        if not key.fileobj.recv(65536):
            ears.unregister(key.fileobj)
"""


def ip(*words: str, check: bool = True) -> None:
    """One `ip` command."""
    subprocess.run(["ip", *words], check=check, capture_output=True)


@contextmanager
def network() -> Iterator[None]:
    """A namespace for the phones, joined to this machine by a bridge."""
    _remove()
    ip("netns", "add", SPACE)
    try:
        ip("link", "add", BRIDGE, "type", "bridge")
        for end, other in (("mk-s0", "mk-s1"), ("mk-p0", "mk-p1")):
            ip("link", "add", end, "type", "veth", "peer", "name", other)
            ip("link", "set", other, "master", BRIDGE, "up")
        ip("link", "set", "mk-p0", "netns", SPACE)
        ip("addr", "add", f"{PAGES_IP}/24", "dev", "mk-s0")
        ip("link", "set", "mk-s0", "up")
        ip("link", "set", BRIDGE, "up")
        ip("-n", SPACE, "addr", "add", f"{PHONES_IP}/24", "dev", "mk-p0")
        ip("-n", SPACE, "link", "set", "mk-p0", "up")
        ip("-n", SPACE, "link", "set", "lo", "up")
        yield
    finally:
        _remove()


def _remove() -> None:
    for words in (("netns", "del", SPACE), ("link", "del", "mk-s0"), ("link", "del", BRIDGE)):
        ip(*words, check=False)


def reached() -> bool:
    """The phones reach the pages' address."""
    ping = (
        "ip",
        "netns",
        "exec",
        SPACE,
        sys.executable,
        "-c",
        f"import socket; socket.create_connection(('{PAGES_IP}', 1), 1)",
    )
    return "refused" in subprocess.run(ping, capture_output=True, text=True, check=False).stderr.lower()


def figures(place: Path, seconds: float, runs: int) -> list[Figure]:
    """What 20 phones cost the pages, how soon they are let go when they vanish, how soon a page is live again."""
    with network():
        until("the phones reach the pages", reached)
        with at_work(place, host=PAGES_IP) as (site, served):
            site.fire()
            port = served.address.rpartition(":")[2]
            rows = _phones(served.process.pid, port, seconds)
            again = [_live_again(place, port) for _ in range(runs)]
    note = f"bridge up to the first live number, after {CUT_S:.0f} s without; median of {runs}, worst {max(again):.0f}"
    return [*rows, Figure("live_again_ms", median(again), "ms", 3000.0, note)]


def _phones(pid: int, port: str, seconds: float) -> list[Figure]:
    command = ["ip", "netns", "exec", SPACE, sys.executable, "-c", TALK, PAGES_IP, port, str(PHONES)]
    phones = subprocess.Popen(command)
    try:
        until("twenty phones listen", lambda: _streams(port) == PHONES)
        before_s, began_s = cpu_s(pid), monotonic_s()
        sleep_s(seconds)
        percent = 100 * (cpu_s(pid) - before_s) / (monotonic_s() - began_s)
        ip("link", "set", BRIDGE, "down")
        cut_s = monotonic_s()
        while (left := _streams(port)) and monotonic_s() - cut_s < 3 * GONE_WITHIN_S:
            sleep_s(0.5)
        gone_s = monotonic_s() - cut_s
        ip("link", "set", BRIDGE, "up")
    finally:
        phones.kill()
        phones.wait()
    return [
        Figure("phones_20_cpu_percent", percent, "%", 1.0, f"of a core, for the pages, over {seconds:.0f} s"),
        Figure("streams_let_go_s", gone_s, "s", GONE_WITHIN_S, f"after 20 phones vanished; {left} left"),
    ]


def _streams(port: str) -> int:
    """How many phones listen, as the pages count them."""
    connection = HTTPConnection(PAGES_IP, int(port), timeout=10)
    try:
        connection.request("GET", "/metrics")
        for line in connection.getresponse().read().decode().splitlines():
            if line.startswith("meltkeeper_pages_streams"):
                return int(float(line.split()[-1]))
    finally:
        connection.close()
    raise AssertionError("the pages do not count their streams")


def _live_again(place: Path, port: str) -> float:
    """Milliseconds from the link's return to the first live number, in a browser behind the bridge."""
    name, browser = own_name(), place / "browser"
    browser.write_text(f'#!/bin/sh\nexec ip netns exec {SPACE} {shutil.which("chromium")} "$@"\n')
    browser.chmod(0o755)
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(
            executable_path=browser, args=["--no-sandbox", f"--host-resolver-rules=MAP {name} {PAGES_IP}"]
        )
        with context(chromium, size=PHONE) as phone:
            page = phone.new_page()
            page.goto(f"http://{name}:{port}/")
            page.wait_for_function("document.querySelector('#rule .newest')")
            ip("link", "set", BRIDGE, "down")
            page.wait_for_function("document.getElementById('app').dataset.stale === 'old'")
            sleep_s(CUT_S - 10.0)
            page.evaluate("document.addEventListener('furnace', () => { window.back ??= Date.now(); })")
            ip("link", "set", BRIDGE, "up")
            began_ms = utc_ms()
            page.wait_for_function("window.back && document.getElementById('app').dataset.stale === ''")
            back_ms: float = page.evaluate("window.back")
        chromium.close()
    return back_ms - began_ms
