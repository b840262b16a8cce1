"""The two permit circuits of docs/circuits, run by ngspice with any pattern on the pin. Simulated, never built.

The netlists are read as they stand in the docs; only the pin's pattern, parameters and measurements are put in.
"""

import re
import subprocess
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

REPOSITORY = Path(__file__).resolve().parent.parent.parent
CIRCUITS = ("permit-a", "permit-b")
OPEN_WITHIN_S = 2.35
"""Last good rising edge to the poles open, with armature: a circuit that takes longer fails the start test."""
ARMATURE_S = 0.015  # common practice, no source; the netlists end with the coil's current
CYCLE_S = 0.25
FIRST_S = 1.0
_PIN = re.compile(r"^\* -+ the pin:.*?^\* -+ end of the pin", re.MULTILINE | re.DOTALL)
_FOUND = re.compile(r"^(\w+)\s+=\s+(\S+)", re.MULTILINE)
_RISE_S = 1e-6


@dataclass(frozen=True, slots=True)
class Pattern:
    """What the pin does. edges_s: each turns the level, which is low at first; from let_go_s on nothing drives it."""

    edges_s: tuple[float, ...]
    until_s: float
    let_go_s: float | None = None

    @property
    def last_rising_s(self) -> float:
        """The last edge that lifts the pin."""
        return self.edges_s[::2][-1]


@dataclass(frozen=True, slots=True)
class Came:
    """What came of one run. None: it never was."""

    closed_s: float | None  # when the contactor first closed
    lowest_v: float  # of the chain from the second second after closing to the last edge; about 24: it never let go
    permit_open_s: float | None  # after the last good rising edge
    poles_open_s: float | None

    @property
    def held(self) -> bool:
        """The contactor stayed in for as long as the pin was toggled."""
        return self.lowest_v > 12.0


def run(
    circuit: str,
    pattern: Pattern,
    values: Mapping[str, float | str] | None = None,
    *,
    good_until_s: float | None = None,
) -> Came:
    """Run one circuit with this pattern; values replace parameters of the netlist by name, `temp` is in °C.

    good_until_s: what the times of opening count from; None: the pin's last rising edge.

    Raises:
        ValueError: a parameter that the netlist does not have.
        CalledProcessError: ngspice failed.
    """
    with TemporaryDirectory() as folder:
        netlist = Path(folder) / f"{circuit}.cir"
        netlist.write_text(_netlist(circuit, pattern, values or {}), encoding="utf-8")
        said = subprocess.run(["ngspice", "-b", netlist.name], cwd=folder, capture_output=True, text=True, check=True)
    found = {name: float(value) for name, value in _FOUND.findall(said.stdout) if value != "failed"}
    last_s = pattern.last_rising_s if good_until_s is None else good_until_s
    opened = {name: found[name] - last_s for name in ("permit_open_s", "poles_open_s") if name in found}
    return Came(
        found.get("closed_s"),
        found["lowest_v"],
        opened.get("permit_open_s"),
        opened.get("poles_open_s"),
    )


def _netlist(circuit: str, pattern: Pattern, values: Mapping[str, float | str]) -> str:
    text = (REPOSITORY / "docs" / "circuits" / f"{circuit}.cir").read_text(encoding="utf-8")
    begin = text.index(".tran")
    circuit_text, measured = text[:begin], text[begin:]
    circuit_text, count = _PIN.subn(_pin(pattern) + "* --- end of the pin", circuit_text)
    if count != 1:
        raise ValueError(f"{circuit}.cir has {count} pins; allowed: 1")
    for name, value in {"vlog": 3.3, "vpull": 0.0, **values}.items():
        if name == "temp":
            circuit_text += f".options temp={value}\n"
            continue
        circuit_text, count = re.subn(rf"(?<=\s){name}=\S+", f"{name}={value}", circuit_text)
        if count != 1:
            raise ValueError(f"{name} stands {count} times in {circuit}.cir; allowed: once")
    measured = measured.replace("tran 2m 26", f"tran 2m {pattern.until_s}")
    held_from_s = min(pattern.edges_s[0] + 2.0, pattern.last_rising_s)
    measured = measured.replace("from=4 to=20", f"from={held_from_s} to={pattern.last_rising_s + 1e-3}")
    return circuit_text + measured


def _pin(pattern: Pattern) -> str:
    """The pattern as sources. A level of 0 or 1 times vlog; hz is 0 while nothing drives the pin."""
    points, level = ["0 0"], 0
    for at_s in pattern.edges_s:
        points.append(f"{at_s:.6f} {level}")
        level = 1 - level
        points.append(f"{at_s + _RISE_S:.6f} {level}")
    let_go_s = pattern.let_go_s
    driven = "0 1" if let_go_s is None else f"0 1 {let_go_s} 1 {let_go_s + _RISE_S:.6f} 0"
    lines = [".param vlog=3.3 vpull=0", "Vlevel level 0 PWL(", *(f"+ {point}" for point in points), "+ )"]
    return "\n".join([*lines, "Bpin pin 0 V = V(level)*vlog", f"Vdriven hz 0 PWL({driven})", ""])


# --- patterns --------------------------------------------------------------------------------------------------------


def steady(until_s: float, *, every_s: float = CYCLE_S, rising_last: bool = True) -> tuple[float, ...]:
    """Toggles on the grid from the first second on; the last one lifts the pin, or drops it."""
    count = round((until_s - FIRST_S) / every_s) + 1
    if (count % 2 == 1) != rising_last:
        count -= 1
    return tuple(FIRST_S + number * every_s for number in range(count))


def late(until_s: float, seed: int, *, at_most_s: float = 0.2, missed: float = 0.02) -> tuple[float, ...]:
    """As the supervisor toggles on a busy computer: each cycle late by chance, some missed, never two within 0.2 s.

    A late cycle is not caught up. The supervisor itself ends the firing when a rising edge comes more than 0.9 s after
    the last, so no gap is longer here.
    """
    dice, edges = Random(seed), [FIRST_S]
    for number in range(1, round((until_s - FIRST_S) / CYCLE_S)):
        at_s = FIRST_S + number * CYCLE_S + dice.uniform(0.0, at_most_s)
        skipped = dice.random() < missed
        rises = len(edges) % 2 == 0
        latest_s = edges[-2] + 0.9 if rises else edges[-1] + 0.69
        if at_s - edges[-1] < 0.2 or (skipped and at_s + CYCLE_S + at_most_s < latest_s):
            continue
        edges.append(min(at_s, latest_s))
    return tuple(edges if len(edges) % 2 else edges[:-1])


def rising_gaps_s(edges_s: Sequence[float]) -> list[float]:
    """Between one rising edge and the next."""
    return [after - before for before, after in pairwise(edges_s[::2])]


# --- tolerances ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Parts:
    """Nominal values and how far each may be off, as a share of it."""

    film: Mapping[str, float]
    resistors: Mapping[str, float]
    others: Mapping[str, tuple[float, float]] = field(default_factory=dict)  # name: (middle, half width)


PARTS = {
    "permit-a": Parts(
        {"c1v": 4.7e-6, "c2a": 1e-6, "c2b": 1e-6},
        {"r2a": 910e3, "r2b": 910e3, "ra": 22e3},
        {"vzn": (12.0, 0.6), "vth": (1.75, 0.75), "v24": (24.0, 2.4), "irel": (4.2e-3, 2.5e-3), "temp": (25.0, 35.0)},
    ),
    "permit-b": Parts(
        {"c1v": 2.2e-6, "c2a": 1e-6, "t1c": 1e-6, "t2c": 1e-6},
        {"r2a": 1.1e6, "ra": 22e3, "t1r": 180e3, "t2r": 1.35e6},
        {
            "v12": (12.0, 0.6),
            "kth": (0.632, 0.019),
            "vth": (1.75, 0.75),
            "v24": (24.0, 2.4),
            "irel": (4.2e-3, 2.5e-3),
            "temp": (25.0, 35.0),
        },
    ),
}
FILM, RESISTOR = 0.10, 0.01


def drawn(circuit: str, seed: int, *, film: float = FILM, resistor: float = RESISTOR) -> dict[str, float]:
    """One build of the circuit: every part off by chance, the opto-coupler's transfer 0.5 to 3, -10 to 60 °C."""
    dice, parts = Random(seed), PARTS[circuit]

    def off(nominal: Iterable[tuple[str, float]], share: float) -> dict[str, float]:
        return {name: value * (1.0 + dice.uniform(-share, share)) for name, value in nominal}

    others = {name: middle + dice.uniform(-half, half) for name, (middle, half) in parts.others.items()}
    return {
        **off(parts.film.items(), film),
        **off(parts.resistors.items(), resistor),
        **others,
        "ctr": 10.0 ** dice.uniform(-0.3, 0.48),
    }
