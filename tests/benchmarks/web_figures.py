"""Group `web`: what the pages cost a phone at the edge of the Wi-Fi, and the machine that serves them.

All furnaces are simulated. The phone is Chromium at 360 x 740, its processor slowed 6 times, its link 50 KB/s with 300
ms latency, the address a name of plain http. Phones that vanish do so in a network namespace whose bridge is taken
down.
"""

import os
import shutil
import tempfile
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from tests.benchmarks import web_network, web_phone, web_work
from tests.benchmarks.figure import Figure

TAPS = 40


class Measure(NamedTuple):
    """How much of each part is measured."""

    runs: int  # of each visit; the median is told
    share: float  # of ten minutes of phones, an hour of firing, 40 taps
    load_minutes: float  # of 200 requests a second, each with and without real-time priority
    tell: Callable[[str], None]


def figures(measure: Measure, only: Collection[str] = ()) -> list[Figure]:
    """Measure these parts, or all of them. One that breaks is named in a row, the others are measured all the same."""
    rows: list[Figure] = []
    broken: list[str] = []
    for name, part in PARTS.items():
        if only and name not in only:
            continue
        try:
            rows += part(measure)
        except Exception as problem:
            if only:
                raise
            broken.append(name)
            measure.tell(f"{name}: not measured: {type(problem).__name__}: {problem}")
    if broken:
        rows.append(Figure("not_measured", len(broken), "parts", 0.0, ", ".join(broken)))
    return rows


def _visits(measure: Measure) -> list[Figure]:
    measure.tell("a phone that visits, comes back, opens a firing of six hours")
    with _short() as place:
        return web_phone.figures(place, measure.runs)


def _phones(measure: Measure) -> list[Figure]:
    if os.geteuid() != 0 or not shutil.which("ip"):
        measure.tell("phones_20_cpu_percent, streams_let_go_s, live_again_ms: left out, they need root and `ip`")
        return []
    measure.tell(f"twenty phones for {600 * measure.share:.0f} s, then gone; a link that returns")
    with _short() as place:
        return web_network.figures(place, 600.0 * measure.share, measure.runs)


def _memory(measure: Measure) -> list[Figure]:
    measure.tell(f"{60 * measure.share:.0f} minutes of firing, {web_work.HOUR_TIMES_REAL:.0f} times as fast as time")
    with _short() as place:
        return web_work.memory(place, 60.0 * measure.share)


def _stop(measure: Measure) -> list[Figure]:
    taps = max(1, round(TAPS * measure.share))
    measure.tell(f"{taps} stops by a tap")
    with _short() as place:
        return web_work.stops(place, taps)


def _loop(measure: Measure) -> list[Figure]:
    rows: list[Figure] = []
    for name, privileged in (("", True), ("_without_priority", False)):
        measure.tell(f"200 requests a second for {measure.load_minutes:g} min{name.replace('_', ' ')}")
        with _short() as place:
            rows += web_work.loop(place, 60.0 * measure.load_minutes, name, privileged=privileged)
    return rows


PARTS: dict[str, Callable[[Measure], list[Figure]]] = {
    "visits": _visits,
    "phones": _phones,
    "memory": _memory,
    "stop": _stop,
    "loop": _loop,
}


@contextmanager
def _short() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="mk") as place:  # a socket's path has 107 bytes
        yield Path(place)
