"""How soon the permit's relays let go, held against what commissioning measured: they drift before they fail.

Commissioning is the first proof since the permit's circuit was fitted or changed: the proofs after it may have drifted
themselves. The times are seen on the grid of 250 ms, so that one look more or less says nothing.
"""

import re
from collections.abc import Mapping, Sequence

from hardware.ports import CYCLE_S
from supervisor.furnace.stages import Changed, Proved

OFF_BY = 0.2
"""A time off by more than this share is said (our choice); one outside 0.9 to 2.1 s fails the start test anyway."""

_TIME = re.compile(r"(relay [12], stuck (?:high|low)) (\d+\.\d+) s")


def as_evidence(times: Mapping[str, float]) -> str:
    """The times of one proof as its row keeps them."""
    return ", ".join(f"{name} {seconds:.2f} s" for name, seconds in times.items())


def measured(evidence: str) -> dict[str, float]:
    """The times, s, that a proof's row has in words."""
    return {name: float(seconds) for name, seconds in _TIME.findall(evidence)}


def commissioned(proved: Sequence[Proved], changed: Sequence[Changed]) -> dict[str, float]:
    """What was measured first since the circuit was fitted; empty: nothing was. Both the oldest first."""
    since = max((at for at, each in enumerate(changed, start=1) if each.part == "permit-board"), default=0)
    made = (each for each in proved if (each.proof, each.result) == ("permit", "proved") and each.after_part >= since)
    first = next(made, None)
    return {} if first is None else measured(first.evidence)


def moved(then: Mapping[str, float], now: Mapping[str, float]) -> str:
    """What is to be said of the time that moved most; empty: none by more than OFF_BY and one look."""
    off = {name: abs(now[name] - then[name]) for name in now if name in then}
    far = [name for name in off if off[name] > max(OFF_BY * then[name], 1.5 * CYCLE_S)]
    if not far:
        return ""
    name = max(far, key=lambda each: off[each] / then[each])
    return (
        f"Permit {name}: lets go after {now[name]:.2f} s, and commissioning measured {then[name]:.2f} s, which is more"
        f" than {OFF_BY:.0%} off. The permit circuit has changed: have it looked at, supply isolated, before it fails."
    ).replace("%", " %")
