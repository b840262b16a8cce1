"""One figure of a benchmark, and how figures are printed and kept."""

import json
import os
import platform
import sys
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

KEPT_IN = Path(__file__).resolve().parents[2] / "docs" / "figures"


class Figure(NamedTuple):
    """One row. baseline: what the value is held against, None where there is nothing; `note` says what both are."""

    name: str
    value: float
    unit: str
    baseline: float | None = None
    note: str = ""

    @property
    def ratio(self) -> float | None:
        """Value over baseline."""
        return self.value / self.baseline if self.baseline else None

    def as_object(self) -> dict[str, Any]:
        """The row with stable names."""
        row: dict[str, Any] = {"name": self.name, "value": _round(self.value), "unit": self.unit}
        row |= {"baseline": _round(self.baseline), "ratio": _round(self.ratio)}
        return row | {"note": self.note}


def table(figures: Sequence[Figure]) -> str:
    """The rows for people."""
    rows = [("name", "value", "unit", "baseline", "ratio", "note")]
    rows += [(f.name, _words(f.value), f.unit, _words(f.baseline), _words(f.ratio), f.note) for f in figures]
    lines = [
        f"{name:36} {value:>9} {unit:12} {baseline:>9} {ratio:>7}  {note}".rstrip()
        for name, value, unit, baseline, ratio, note in rows
    ]
    return "\n".join(lines)


def keep(group: str, command: str, figures: Sequence[Figure], load: Sequence[float]) -> Path:
    """Write the run to docs/figures/GROUP.json. load: one-minute load average before and after."""
    run = {
        "group": group,
        "command": command,
        "date": datetime.now(UTC).strftime("%Y-%m-%d %H:%M UTC"),
        "machine": machine(),
        "load_average_1_min": [round(value, 2) for value in load],
        "rows": [figure.as_object() for figure in figures],
    }
    KEPT_IN.mkdir(parents=True, exist_ok=True)
    file = KEPT_IN / f"{group}.json"
    file.write_text(json.dumps(run, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return file


def machine() -> dict[str, Any]:
    """What it ran on; no names of hosts, people or makers of processors."""
    return {
        "board": _board(),
        "cores": os.cpu_count(),
        "system": platform.system(),
        "python": f"{platform.python_implementation()} {sys.version.split()[0]}",
    }


def _board() -> str:
    """A Pi says which one it is; any other machine is its architecture."""
    info = Path("/proc/cpuinfo")
    lines = info.read_text(encoding="utf-8").splitlines() if info.exists() else []
    named = [line.split(":", 1)[1].strip() for line in lines if line.startswith("Model")]
    return named[0] if named else platform.machine()


def _round(value: float | None) -> float | None:
    return None if value is None else float(f"{value:.5g}")


def _words(value: float | None) -> str:
    return "" if value is None else f"{value:.4g}"
