"""What a pin can do to a permit circuit: each case a pattern, changed parts, and what must come of it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tests.circuits.permit import FIRST_S, Came, Pattern, late, run, steady

TO_S, SEEN_TO_S = 10.0, 14.0


@dataclass(frozen=True, slots=True)
class Case:
    """closes: the contactor goes in; holds: it stays in while the pin toggles; None: not asked.

    Whatever closes must open within the limit after the last good edge, whatever the pin does then.
    """

    pattern: Pattern
    closes: bool = True
    holds: bool | None = True
    values: Mapping[str, float] = field(default_factory=dict)
    good_until_s: float | None = None  # the last good edge, where the pin goes on racing; None: its last rising edge
    b_alone: bool = False  # circuit A is known not to notice

    def run(self, circuit: str) -> Came:
        """Run it."""
        return run(circuit, self.pattern, self.values, good_until_s=self.good_until_s)


def _running(edges_s: tuple[float, ...], let_go_s: float | None = None) -> Pattern:
    return Pattern(edges_s, SEEN_TO_S, let_go_s)


def _then_races(every_s: float) -> Pattern:
    good = steady(TO_S)
    return Pattern((*good, *(good[-1] + every_s * n for n in range(1, round(4.0 / every_s)))), SEEN_TO_S)


def _races(every_s: float) -> Case:
    return Case(_then_races(every_s), holds=None, good_until_s=steady(TO_S)[-1], b_alone=True)


_STEADY = _running(steady(TO_S))
_LOW = _running(steady(TO_S, rising_last=False))
_LEFT_S = TO_S + 0.01
_SLOW = Pattern(tuple(FIRST_S + n for n in range(9)), SEEN_TO_S)
_MISSED = tuple(at_s for n, at_s in enumerate(steady(TO_S)) if n % 9)

CASES = {
    "stuck high": Case(_STEADY),
    "stuck low": Case(_LOW),
    "left floating, pulled down": Case(_running(steady(TO_S), _LEFT_S), values={"vpull": 0.0}),
    "left floating, pulled up": Case(_running(steady(TO_S), _LEFT_S), values={"vpull": 3.3}),
    "late by up to 0.2 s, some missed": Case(_running(late(TO_S, 1))),
    "one toggle in nine missed": Case(_running(_MISSED if len(_MISSED) % 2 else _MISSED[:-1])),
    "half as fast": Case(_running(steady(TO_S, every_s=0.5))),
    "twice as fast": Case(_running(steady(TO_S, every_s=0.125))),
    "four times slower": Case(_SLOW, holds=False),
    "floating from power-on, pulled up": Case(
        Pattern((FIRST_S,), 6.0, 0.5), closes=False, holds=None, values={"vpull": 3.3}
    ),
    "one edge at power-on, then stuck high": Case(Pattern((0.01,), 6.0), holds=None),
    "24 V 20 % low": Case(_STEADY, values={"v24": 19.2}),
    "24 V 20 % high": Case(_STEADY, values={"v24": 28.8}),
    "pin at 3.0 V": Case(_STEADY, values={"vlog": 3.0}),
    "opto-coupler at half its transfer": Case(_STEADY, values={"ctr": 0.5}),
    "opto-coupler at three times its transfer": Case(_STEADY, values={"ctr": 3.0}),
    "square wave of 50 Hz": Case(_running(steady(TO_S, every_s=0.01)), closes=False, holds=None, b_alone=True),
    "runs well, then races at 50 Hz": _races(0.01),
    "runs well, then races at 8 Hz": _races(0.0625),
}
