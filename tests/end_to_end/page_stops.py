"""How long a stop from a page takes to the furnace's outputs: `python -m tests.end_to_end.page_stops`.

Real pages, real supervisor, the simulated furnace in its own process at 1 x, and phones that ask 200 times a second.
Each stop comes as it should not: from an unpaired phone, by plain address or foreign name, from a foreign page, with a
clock a day off, with fields nobody knows, or sent twice. From before it is sent to the last edge of relay and enable in
the furnace's own record.
"""

import json
import socket
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

import click

from hardware.clock import monotonic_s, sleep_s, utc_ms
from tests.browser.conftest import WEB, serving
from tests.end_to_end.site import REPOSITORY, Site

DAY_MS = 86_400_000
FLOOD = (sys.executable, "-m", "tests.end_to_end.page_flood")


class Way(NamedTuple):
    """One way of sending a stop that must not keep it out."""

    name: str
    headers: dict[str, str]
    body: str = ""
    times: int = 1


def ways() -> tuple[Way, ...]:
    """Every way in which a stop must come through."""
    form = {"Content-Type": "application/x-www-form-urlencoded"}
    return (
        Way("unpaired, no origin", {}),
        Way("foreign page", {"Origin": "http://elsewhere.example", "Referer": "http://elsewhere.example/"}),
        Way("foreign host name", {"Host": "elsewhere.example"}),
        Way("stolen cookie", {"Cookie": "meltkeeper-8080=stolen"}),
        Way("clock a day ahead", {"Date": "Tue, 19 Jan 2038 03:14:07 GMT", **form}, f"sent_utc_ms={utc_ms() + DAY_MS}"),
        Way(
            "clock a day behind", {"Date": "Thu, 01 Jan 1970 00:00:00 GMT", **form}, f"sent_utc_ms={utc_ms() - DAY_MS}"
        ),
        Way("unknown fields", form, "epoch=-1&command=start&v=9&id=&lease=other&sequence=1"),
        Way("not a form", {"Content-Type": "application/json"}, '{"command":"start"'),
        Way("sent twice", {"X-Request-Id": "1"}, times=2),
    )


class Told(NamedTuple):
    """What became of one."""

    way: str
    seconds: float
    taken: bool


class Flood:
    """Phones that ask so many times a second while it lasts."""

    def __init__(self, address: str, per_s: float) -> None:
        self._command = [*FLOOD, address, str(per_s)]
        self.said: dict[str, Any] = {}

    def __enter__(self) -> "Flood":
        self._process = subprocess.Popen(
            self._command, cwd=REPOSITORY, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        return self

    def __exit__(self, *_: object) -> None:
        self.said = json.loads(self._process.communicate(timeout=60)[0])


def send(address: str, way: Way) -> list[dict[str, Any]]:
    """Send the same bytes as often as it says, one connection each; the answers."""
    host, _, port = address.removeprefix("http://").partition(":")
    headers = {"Host": f"{host}:{port}", "Accept": "application/json", "Connection": "close", **way.headers}
    headers["Content-Length"] = str(len(way.body.encode()))
    head = "".join(f"{name}: {value}\r\n" for name, value in headers.items())
    raw = f"POST /stop HTTP/1.1\r\n{head}\r\n{way.body}".encode()
    answers = []
    for _ in range(way.times):
        with socket.create_connection((host, int(port)), timeout=30) as connection:
            connection.sendall(raw)
            with connection.makefile("rb") as lines:
                answers.append(_body(lines.read()))
    return answers


def _body(answer: bytes) -> dict[str, Any]:
    head, _, body = answer.partition(b"\r\n\r\n")
    status = head.split()[1] if head else b"none"
    found: dict[str, Any] = json.loads(body) if status == b"200" else {"answer": f"status {status.decode()}"}
    return found


def falls(site: Site, since: dict[str, int]) -> float | None:
    """When the last of relay and enable fell, if both are off now."""
    fell_s = []
    for line, before in since.items():
        edges = site.edges(line)
        if edges and edges[-1].level:
            return None
        fell_s += [edge.real_s for edge in edges[before:] if not edge.level]
    return max(fell_s, default=None)


def stop_once(site: Site, address: str, way: Way, random: Random) -> Told:
    """Fire, let it heat a moment, stop in that way."""
    with site.setting_up():
        site.fire()
        sleep_s(random.uniform(0.5, 1.5))
    since = {line: len(site.edges(line)) for line in ("relay", "enable")}
    began_s = monotonic_s()
    answers = send(address, way)
    site.until("relay and enable are off", lambda: falls(site, since) is not None)
    fell_s = falls(site, since)
    assert fell_s is not None
    site.wait_for("stopped")
    return Told(way.name, fell_s - began_s, all(answer["answer"] == "accepted" for answer in answers))


def measure(stops: int, seed: int, per_s: float, directory: Path) -> tuple[list[Told], dict[str, Any]]:
    """As many stops, one after the other, on one furnace, and what the flood was answered."""
    random = Random(seed)
    with Site(directory, seed=seed) as site:
        site.start()
        command = [*WEB, "--data", str(site.data), "--host", "127.0.0.1", "--port", "0"]
        with serving(command, site.data) as served, Flood(served.address, per_s) as flood:
            told = [stop_once(site, served.address, ways()[number % len(ways())], random) for number in range(stops)]
    return told, flood.said


@click.command()
@click.option("--stops", type=click.IntRange(min=1), default=18, show_default=True)
@click.option("--seed", type=int, default=1, show_default=True)
@click.option(
    "--per-s", type=float, default=200.0, show_default=True, help="Requests a second of other phones together."
)
@click.option("--json", "as_json", is_flag=True)
def main(stops: int, seed: int, per_s: float, as_json: bool) -> None:
    """Measure stops from pages that are flooded. Exit status: 0 none was refused, 1 one was."""
    with tempfile.TemporaryDirectory(prefix="stops") as directory:
        told, flood = measure(stops, seed, per_s, Path(directory))
    times_s = sorted(each.seconds for each in told)
    p95_ms, worst_ms = (round(1000 * at) for at in (times_s[int(0.95 * (len(times_s) - 1))], times_s[-1]))
    refused = Counter(each.way for each in told if not each.taken)
    figures = {"stops": stops, "refused": sum(refused.values()), "p95_ms": p95_ms, "worst_ms": worst_ms, "flood": flood}
    if as_json:
        click.echo(json.dumps(figures))
    else:
        click.echo(
            f"stops beside {flood['per_s']} requests a second (simulated furnace, 1 x): {stops}; sent to relay and"
            f" enable off: p95 {p95_ms} ms, worst {worst_ms} ms, allowed 1000 ms; refused: {dict(refused) or 0}"
        )
    raise SystemExit(1 if refused else 0)


if __name__ == "__main__":
    main()
