"""A supervisor with one watch more, which fails when it is told to: for the campaign of processes.

`python -m tests.campaigns.sabotaged SECONDS daemon ...` is `meltkeeper daemon ...` but for that watch. SIGUSR1: its
next judgement raises. SIGUSR2: its next judgement takes SECONDS and gives nothing else a turn. Everything around the
watch is the program as it ships.
"""

import signal
import sys
from dataclasses import dataclass

from hardware.clock import monotonic_s
from supervisor import cycle
from supervisor.cli import main
from supervisor.firing.states import HEATED, State
from supervisor.watches.finding import Finding, Reaction
from supervisor.watches.view import View

_told: list[int] = []


class Sabotage(Exception):
    """What the watch raises."""


@dataclass(frozen=True, slots=True)
class Saboteur:
    """Finds nothing; does what the last signal said."""

    takes_s: float
    id: str = "saboteur"
    reaction: Reaction = Reaction()  # noqa: RUF009 - it is immutable
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """Raise, or keep the loop busy, if that was asked for."""
        while _told:
            if _told.pop() == signal.SIGUSR1:
                raise Sabotage(f"an error in the cycle, put in at {view.now_s:.2f} s")
            until_s = monotonic_s() + self.takes_s
            while monotonic_s() < until_s:
                pass
        return None


if __name__ == "__main__":
    saboteur = Saboteur(float(sys.argv.pop(1)))
    for number in (signal.SIGUSR1, signal.SIGUSR2):
        signal.signal(number, lambda which, _: _told.append(which))
    for table in (cycle.ASKED, cycle.ASKED_BETWEEN):
        for state in saboteur.states:
            table[state] = (*table[state], saboteur)
    main(prog_name="meltkeeper")
