"""How long a stop takes to the furnace's outputs while others flood the link: `python -m tests.end_to_end.stops`.

From the moment before the stop is sent to the edge of the enable output in the furnace's own record, both on the
machine's monotonic clock. Simulated furnace, real time, 1 x.
"""

import json
import socket
import tempfile
import threading
from pathlib import Path
from random import Random

import click

from hardware.clock import monotonic_s, sleep_s
from tests.end_to_end.site import SENDER, Site


class Flood:
    """Clients that ask and order without end, so many times a second together."""

    def __init__(self, path: Path, clients: int, per_s: float) -> None:
        self._over = threading.Event()
        self._pause_s = clients / per_s
        self.said = 0
        self._threads = [threading.Thread(target=self._flood, args=(path, number)) for number in range(clients)]

    def __enter__(self) -> "Flood":
        for thread in self._threads:
            thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        for thread in self._threads:
            thread.join()

    def _flood(self, path: Path, number: int) -> None:
        with socket.socket(socket.AF_UNIX) as connection:
            connection.connect(str(path))
            with connection.makefile("rb") as answers:
                threading.Thread(target=answers.read, daemon=True).start()
                while not self._over.wait(self._pause_s):
                    self.said += 1
                    message = {"v": 1, "id": f"{number}-{self.said}", "command": "resume", "epoch": 0, **SENDER}
                    asked = {"v": 1, "ask": "snapshot"}
                    connection.sendall(json.dumps(message).encode() + b"\n" + json.dumps(asked).encode() + b"\n")
                connection.shutdown(socket.SHUT_RDWR)


def stop_once(site: Site, random: Random, per_s: float) -> tuple[float, bool, int]:
    """Fire, stop beside a flood: seconds from the tap to the enable's edge, whether it was accepted, and the flood."""
    site.fire()
    with Flood(site.link.path, 10, per_s) as flood:
        sleep_s(random.uniform(1.0, 2.0))
        before = len(site.edges("enable"))
        began_s = monotonic_s()
        answer = site.link.send({"command": "stop", **SENDER})
        site.until("the enable falls", lambda: len(site.edges("enable")) > before)
    fell = site.edges("enable")[before]
    assert not fell.level
    site.wait_for("stopped")
    return fell.real_s - began_s, bool(answer.accepted), flood.said


def measure(stops: int, seed: int, per_s: float, directory: Path) -> list[tuple[float, bool, int]]:
    """As many stops, one after the other, on one furnace."""
    random = Random(seed)
    with Site(directory, seed=seed) as site:
        site.start()
        return [stop_once(site, random, per_s) for _ in range(stops)]


@click.command()
@click.option("--stops", type=click.IntRange(min=1), default=10, show_default=True)
@click.option("--seed", type=int, default=1, show_default=True)
@click.option("--per-s", type=float, default=200.0, show_default=True, help="Commands a second of all others together.")
@click.option("--json", "as_json", is_flag=True)
def main(stops: int, seed: int, per_s: float, as_json: bool) -> None:
    """Measure stops under a flood. Exit status: 0 none was refused, 1 one was."""
    with tempfile.TemporaryDirectory(prefix="stops") as directory:
        taps = measure(stops, seed, per_s, Path(directory))
    times_s = sorted(seconds for seconds, _, _ in taps)
    refused, said = sum(not accepted for _, accepted, _ in taps), sum(number for _, _, number in taps)
    p95_ms, worst_ms = (round(1000 * at) for at in (times_s[int(0.95 * (len(times_s) - 1))], times_s[-1]))
    figures = {"stops": stops, "refused": refused, "p95_ms": p95_ms, "worst_ms": worst_ms, "flood_messages": said}
    if as_json:
        click.echo(json.dumps(figures))
    else:
        click.echo(
            f"stops beside {said} commands of others (simulated furnace, 1 x): {stops}; tap to enable off:"
            f" p95 {p95_ms} ms, worst {worst_ms} ms, allowed 1000 ms; refused: {refused}"
        )
    raise SystemExit(1 if refused else 0)


if __name__ == "__main__":
    main()
