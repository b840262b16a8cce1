"""Group `web`: what the pages cost a phone at the edge of the Wi-Fi, and the machine that serves them.

All furnaces are simulated. The phone is Chromium at 360 x 740, its processor slowed 6 times, its link 50 KB/s with 300
ms latency, the address a name of plain http. Phones that vanish do so in a network namespace whose bridge is taken
down.
"""

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.benchmarks import web_network, web_phone, web_work
from tests.benchmarks.figure import Figure


def figures(*, runs: int, share: float, tell: Callable[[str], None]) -> list[Figure]:
    """Measure. runs: of each visit, the median is told. share: of the full times and counts."""
    rows: list[Figure] = []
    with _short() as place:
        tell("a phone that visits, comes back, opens a firing of six hours")
        rows += web_phone.figures(place, runs)
    if os.geteuid() == 0 and shutil.which("ip"):
        with _short() as place:
            tell(f"twenty phones for {600 * share:.0f} s, then gone; a link that returns")
            rows += web_network.figures(place, 600.0 * share, runs)
    else:
        tell("phones_20_cpu_percent, streams_after_20_s, live_again_ms: left out, they need root and `ip`")
    with _short() as place:
        tell(f"an hour of firing, then {max(1, round(100 * share))} stops by a tap")
        rows += web_work.memory(place, 60.0 * share)
    with _short() as place:
        rows += web_work.stops(place, max(1, round(100 * share)))
    for name, privileged in (("", True), ("_without_priority", False)):
        with _short() as place:
            tell(f"200 requests a second for {600 * share:.0f} s{name.replace('_', ' ')}")
            rows += web_work.loop(place, 600.0 * share, name, privileged=privileged)
    return rows


@contextmanager
def _short() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="mk") as place:  # a socket's path has 107 bytes
        yield Path(place)
