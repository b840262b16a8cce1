"""Watches over what a firing may use: time, energy, and a log that can be written."""

from dataclasses import dataclass

from supervisor.firing.states import HEATED, LIVE, State
from supervisor.watches.finding import ADVISE, CONTROLLED_STOP, HOLD_WITHOUT_HEAT, NOTHING, Finding, Reaction
from supervisor.watches.view import View


@dataclass(frozen=True, slots=True)
class LongestDuration:
    """The firing's own longest duration is over."""

    id: str = "longest-duration"
    reaction: Reaction = CONTROLLED_STOP
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = LIVE
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """Time since the start."""
        run = view.firing.run
        if run is None or view.now_s - run.began_s < run.longest_s:
            return None
        return Finding(self.id, self.reaction, f"{run.longest_s / 3600:.1f} h are over")


@dataclass(frozen=True, slots=True)
class EnergyAllowance:
    """More energy than this firing can need: from now on no more than holds the target, whatever the reading says.

    A learned allowance is that of the way to the target: holding there spends it as a matter of course. It binds at
    once, and speaks when it keeps heat back on the way. At the target that is expected: there the furnace only asks.
    """

    bound_s: int = 60
    id: str = "energy-allowance"
    reaction: Reaction = NOTHING
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """Energy ordered or metered, whichever is larger, against the allowance."""
        run = view.firing.run
        if run is None or run.energy_wh <= run.allowed_wh:
            return None
        if run.learned_allowance and (run.was_ready or run.bound_s < self.bound_s):
            return None
        reaction = Reaction(duty_ceiling=min(1.0, run.beyond_duty))
        return Finding(self.id, reaction, f"{run.energy_wh / 1000:.2f} kWh used, {run.allowed_wh / 1000:.2f} allowed")


@dataclass(frozen=True, slots=True)
class LogLost:
    """The log has not been written for ten minutes: a firing that nobody can look at afterwards is ended in order."""

    limit_s: float = 600.0
    id: str = "log-lost"
    reaction: Reaction = CONTROLLED_STOP
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """How long the disk has been in trouble, or an event has waited."""
        lost_s = max(view.log.trouble_for_s, view.log.pending_s)
        if lost_s < self.limit_s:
            return None
        why = view.log.trouble or "an event waits for the disk"
        return Finding(self.id, self.reaction, f"for {lost_s / 60.0:.0f} min: {why}")


@dataclass(frozen=True, slots=True)
class LogSpaceLow:
    """Room for the log runs out: events will still be kept, samples not."""

    least_mb: float = 50.0
    id: str = "log-space-low"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (3, 3)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """What the disk said of its room when it was last written."""
        free_mb = view.log.free_mb
        if free_mb is None or free_mb >= self.least_mb:
            return None
        return Finding(self.id, self.reaction, f"{free_mb:.0f} MB free, {self.least_mb:.0f} wanted")


@dataclass(frozen=True, slots=True)
class LogBehind:
    """What adds heat is not on disk after 2 s, or the disk says that it cannot write."""

    limit_s: float = 2.0
    id: str = "log-behind"
    reaction: Reaction = HOLD_WITHOUT_HEAT
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """What the loop says of the disk."""
        log = view.log
        if log.trouble is None and log.pending_s <= self.limit_s:
            return None
        return Finding(self.id, self.reaction, log.trouble or f"an event has waited {log.pending_s:.1f} s for the disk")
