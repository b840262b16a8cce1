"""Watches over the sensor: does it answer, is it whole, is what it says possible?"""

from dataclasses import dataclass

from supervisor.firing.states import LIVE, State
from supervisor.watches.finding import NO_HEAT, TRIP, Finding, Reaction
from supervisor.watches.view import View

SENSOR_STATES = frozenset(LIVE)


@dataclass(frozen=True, slots=True)
class NoReading:
    """A single bad frame: no heat in its cycle, without any alarm."""

    id: str = "no-reading"
    reaction: Reaction = NO_HEAT
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = SENSOR_STATES
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """No temperature in this cycle."""
        fault = view.belief.fault
        return None if fault is None else Finding(self.id, self.reaction, f"this cycle: {fault.reason}")


@dataclass(frozen=True, slots=True)
class SensorSays:
    """The sensor's own flags, or a frame that no sensor sends: 3 of 5 samples."""

    id: str
    reasons: tuple[str, ...]
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (3, 5)
    states: frozenset[State] = SENSOR_STATES
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """The frame gives one of this watch's reasons."""
        fault = view.belief.fault
        if fault is None or not fault.reason.startswith(self.reasons):
            return None
        return Finding(self.id, self.reaction, f"{fault.reason}, raw word {fault.word:08x}")


@dataclass(frozen=True, slots=True)
class ReadingOld:
    """No good reading for 5 s, whatever the reasons were."""

    limit_s: float = 5.0
    id: str = "reading-old"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = SENSOR_STATES
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """Age of the last good reading against the limit."""
        age_s = view.now_s - view.belief.good_s
        if age_s <= self.limit_s:
            return None
        return Finding(self.id, self.reaction, f"last good reading {age_s:.1f} s ago, allowed {self.limit_s:.0f} s")


@dataclass(frozen=True, slots=True)
class SampleOfAnotherCycle:
    """A sample whose time is not of this cycle: no heat and no permit edge; a run of them is not the furnace now."""

    id: str
    reaction: Reaction
    needs: tuple[int, int]
    states: frozenset[State] = SENSOR_STATES
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """The sample's own time."""
        if view.belief.time_ok:
            return None
        return Finding(self.id, self.reaction, f"sample stamped {view.belief.monotonic_s:.2f} s in another cycle")


@dataclass(frozen=True, slots=True)
class ReadingFrozen:
    """The raw word has not changed for a minute; noise and the cold junction never rest that long."""

    limit_s: int = 60
    id: str = "reading-frozen"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = SENSOR_STATES
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """Seconds in a row with one raw word."""
        if view.belief.same_s < self.limit_s:
            return None
        return Finding(self.id, self.reaction, f"the same raw word for {view.belief.same_s} s")


@dataclass(frozen=True, slots=True)
class RateImpossible:
    """The reading moved faster than twice what this furnace can do, three seconds in a row."""

    factor: float = 2.0
    id: str = "rate-impossible"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (3, 3)
    states: frozenset[State] = SENSOR_STATES
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """One second's rise against the furnace's slopes."""
        rise_c = view.history.rise_c(1)
        if rise_c is None or not view.lid_calm:
            return None
        up_c = self.factor * view.furnace.response.fastest_rise_c_per_s
        down_c = self.factor * view.furnace.response.fastest_fall_c_per_s
        if -down_c <= rise_c <= up_c:
            return None
        return Finding(self.id, self.reaction, f"moved {rise_c:+.1f} K in 1 s, possible -{down_c:.1f} to +{up_c:.1f}")
