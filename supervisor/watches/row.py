"""One row of the fault table: what can go wrong, who speaks of it and how soon, or why nobody can."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import inf
from typing import Literal, NamedTuple

from supervisor.watches.finding import Reaction

Fitted = Literal["meter", "current", "second-sensor", "tray-probe", "mains-presence"]
"""What may be fitted beside the one thermocouple and the chain: energy meter, load-current switch, and so on."""

Moment = Literal["start", "ramp", "gate", "arrest", "hold", "idle"]
"""Where in a firing a fault can come: before the start, on a ramp with solid metal, waiting at the gate for a press,
while the metal melts, at a settled hold, and after the end while the furnace is still hot."""

FIRING: tuple[Moment, ...] = ("ramp", "gate", "arrest", "hold")
ALWAYS: tuple[Moment, ...] = (*FIRING, "idle")


class Injected(NamedTuple):
    """What is done to a simulated furnace to stand for the row. name: of the simulated furnace's faults; '' none.

    then: what people do next, where it shows only then: 'open the lid', 'stop', 'go away'.
    """

    name: str
    value: float | None = None
    then: Literal["", "open the lid", "stop", "go away"] = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A fault, in words.

    reaction: what a finding must ask at least. within_s: what must be fitted -> seconds in which such a finding must
    have come, or the fault is missed; the key "" needs nothing optional, and an empty mapping is a fault that no watch
    can be counted on to notice. unlearned: the same while nothing is learned of this furnace; None: no difference.
    counted: whether these seconds run from the fault, from the first moment after it at which the ordered duty is
    below 0.7, or from the first heat. why_not: why no watch can notice it, or when not. instead: what stands in for a
    watch: a procedure, a refusal, another device. part: what it is that fails; where that is not fitted, nothing can.
    above_c, calm: it is looked for from this reading on, and only while the reading is held against the model.
    """

    title: str
    faults: tuple[Injected, ...] = ()
    watches: frozenset[str] = frozenset()
    reaction: Reaction = field(default_factory=Reaction)
    within_s: Mapping[str, float] = field(default_factory=dict)
    unlearned: Mapping[str, float] | None = None
    when: tuple[Moment, ...] = FIRING
    counted: Literal["fault", "low duty", "first heat"] = "fault"
    why_not: str = ""
    instead: str = ""
    part: Fitted | None = None
    above_c: float = 0.0
    calm: bool = False

    def limit_s(self, fitted: Iterable[str], *, learned: bool = True) -> float | None:
        """Seconds in which it must be noticed with this fitted; None: it cannot be."""
        limits = self.within_s if learned or self.unlearned is None else self.unlearned
        soonest = min((limits.get(name, inf) for name in ("", *fitted)), default=inf)
        return None if soonest == inf else soonest

    def detectable(self, fitted: Iterable[str], *, learned: bool = True) -> bool:
        """Whether a watch must notice it with this fitted."""
        return self.limit_s(fitted, learned=learned) is not None
