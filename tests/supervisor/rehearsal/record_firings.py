"""Record the small firings that every version judges again: `python -m tests.supervisor.rehearsal.record_firings`.

Simulated, every one of them. Record them anew only where a watch was changed on purpose, and say so in the changelog.
"""

import lzma
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from hardware.simulated.plant import Bench
from supervisor.firing.profile_file import profile_from_text
from supervisor.furnace.file import read_furnace
from supervisor.logbook.database import FILE_NAME
from supervisor.rehearsal.rehearse import Wish, rehearse

HERE = Path(__file__).parent / "recorded"

CLEAN = """
name = "Simulated: a short bake"
top_c = 180.0

[[segment]]
ramp_to_c = 120.0
rate_c_per_h = 600.0

[[segment]]
hold_min = 2.0
"""

MELT = """
name = "Simulated: a melt that a fault ends"
top_c = 760.0

[charge]
mass_kg = 2.0
alloy = "6082"
form = "off-cuts"

[[segment]]
ramp_to_c = 740.0
fastest = true

[[segment]]
hold_min = 10.0
until = "word"
"""

RECORDED: dict[str, tuple[str, tuple[tuple[str, float], ...]]] = {
    "clean": (CLEAN, ()),
    "relay_stuck_on": (MELT, (("relay_stuck_on", 420.0),)),
}
"""Profile and faults. What each says then is in its own log."""


def recorded(name: str) -> str:
    """The log of a recorded firing, as SQL."""
    packed = (HERE / f"{name}.sql.xz.hex").read_text(encoding="ascii")
    return lzma.decompress(bytes.fromhex(packed)).decode()


def record(name: str, profile: str, faults: tuple[tuple[str, float], ...]) -> None:
    """Rehearse, and keep the log as SQL text."""
    furnace = read_furnace("bench")
    with tempfile.TemporaryDirectory() as place:
        wish = Wish(profile_from_text(profile, name, furnace), furnace, Bench, faults=faults, at_most_s=1500.0)
        rehearse(wish, Path(place) / "data")
        with closing(sqlite3.connect(Path(place) / "data" / FILE_NAME)) as log:
            (layout,) = log.execute("PRAGMA user_version").fetchone()
            text = "\n".join([*log.iterdump(), f"PRAGMA user_version = {layout};"])
    file = HERE / f"{name}.sql.xz.hex"
    packed = lzma.compress(text.encode(), preset=9).hex()
    file.write_text("\n".join(packed[at : at + 120] for at in range(0, len(packed), 120)) + "\n", encoding="ascii")
    print(f"{file.name}: {file.stat().st_size} bytes")  # noqa: T201 - a script's own word


if __name__ == "__main__":
    for each, (text, broken) in RECORDED.items():
        record(each, text, broken)
