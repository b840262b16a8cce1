"""How far each unit is locked up: systemd's own reckoning, 0 (locked up) to 10 (open)."""

import re
import shutil
import subprocess
from pathlib import Path

from tests.benchmarks.figure import Figure

UNITS = Path(__file__).resolve().parents[2] / "systemd"
NAMES = {
    "security_daemon": "meltkeeper.service",
    "security_web": "meltkeeper-web.service",
    "security_messenger": "meltkeeper-messenger.service",
}
AIM = 2.0


def exposure(unit: Path) -> float:
    """Overall exposure level of a unit, from its file alone.

    Raises:
        LookupError: systemd-analyze is missing, or said nothing of the kind.
    """
    analyze = shutil.which("systemd-analyze")
    if analyze is None:
        raise LookupError("systemd-analyze is missing; Debian's package systemd brings it")
    said = subprocess.run(
        [analyze, "security", "--offline=true", str(unit)], capture_output=True, text=True, check=False
    )
    found = re.search(r"Overall exposure level for \S+: ([\d.]+)", said.stdout)
    if found is None:
        raise LookupError(f"{unit.name}: {said.stderr.strip() or 'no exposure level'}")
    return float(found[1])


def figures() -> list[Figure]:
    """One figure a unit."""
    note = "systemd-analyze security --offline; baseline: the aim, at most"
    return [Figure(name, exposure(UNITS / unit), "of 10", AIM, note) for name, unit in NAMES.items()]
