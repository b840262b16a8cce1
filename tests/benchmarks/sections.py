"""Where the time of a rehearsal goes: timers around the pieces of a turn, put there for one run and taken away."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from time import perf_counter_ns
from typing import Any
from unittest.mock import patch

import supervisor.cycle
import supervisor.rehearsal.rehearse
from hardware.simulated.in_process import InProcess
from hardware.simulated.plant import FurnacePlant
from supervisor.logbook.scribe import Scribe

OF_THE_CORE = ("believe", "_turn", "use_energy", "notice", "judge", "decide", "regulate", "act", "remember")
"""The pieces of one cycle, as supervisor/cycle.py calls them."""


@dataclass(slots=True)
class Times:
    """Nanoseconds in each piece, timers included, and the length of every turn."""

    in_piece_ns: dict[str, int] = field(default_factory=dict)
    turns_ns: list[int] = field(default_factory=list)

    def us_a_turn(self, piece: str) -> float:
        """Mean over all turns, µs."""
        return self.in_piece_ns[piece] / len(self.turns_ns) / 1000.0

    def turn_us(self, share: float) -> float:
        """The length of a turn that so large a share of turns does not exceed, µs."""
        ordered = sorted(self.turns_ns)
        return ordered[min(int(share * len(ordered)), len(ordered) - 1)] / 1000.0

    def quiet_us(self) -> float:
        """Mean turn of the quickest tenth of all simulated minutes, µs: those that no other program disturbed much."""
        turns = self.turns_ns
        minutes = sorted(sum(turns[at : at + 240]) / 240 for at in range(0, len(turns) - 239, 240))
        quickest = minutes[: max(1, len(minutes) // 10)]
        return sum(quickest) / len(quickest) / 1000.0


@contextmanager
def timed() -> Iterator[Times]:
    """Time every rehearsal made inside the block."""
    times = Times()
    with ExitStack() as stack:
        for name in OF_THE_CORE:
            stack.enter_context(_timer(supervisor.cycle, name, name, times))
        stack.enter_context(_timer(FurnacePlant, "step", "plant", times))
        stack.enter_context(_timer(InProcess, "sample", "sample", times))
        stack.enter_context(_timer(InProcess, "apply", "apply", times))
        stack.enter_context(_timer(Scribe, "put", "log", times))
        stack.enter_context(_turns(times))
        yield times


@contextmanager
def turns_timed() -> Iterator[list[int]]:
    """Time nothing but whole turns, ns each: one reading of the clock a turn."""
    times = Times()
    with _turns(times):
        yield times.turns_ns


def _turns(times: Times) -> Any:
    """From one call of the cycle to the next is one whole turn."""
    cycle = supervisor.cycle.cycle
    last = [0]
    turns = times.turns_ns

    def counted(*given: Any) -> Any:
        now = perf_counter_ns()
        if last[0]:
            turns.append(now - last[0])
        last[0] = now
        return cycle(*given)

    return patch.object(supervisor.rehearsal.rehearse, "cycle", counted)


def _timer(owner: Any, name: str, piece: str, times: Times) -> Any:
    timed_piece: Callable[..., Any] = getattr(owner, name)
    spent = times.in_piece_ns
    spent[piece] = 0

    def with_timer(*given: Any, **named: Any) -> Any:
        began = perf_counter_ns()
        result = timed_piece(*given, **named)
        spent[piece] += perf_counter_ns() - began
        return result

    return patch.object(owner, name, with_timer)
