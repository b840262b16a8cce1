"""Watches over the sensor: does it answer, is it whole, is what it says possible?"""

from dataclasses import dataclass

from supervisor.firing.states import HEATED, LIVE, State
from supervisor.watches.finding import ADVISE, CONTROLLED_STOP, HOLD_WITH_HEAT, NO_HEAT, TRIP, Finding, Reaction
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
    """The raw word has not changed for 55 s; noise and the cold junction never rest that long."""

    limit_s: int = 55
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
    """The reading moved faster than twice what this furnace can do, three seconds in a row, or jumped and stayed there.

    A jump shows in one second alone, and in every rise over four seconds until they are over: three looks in a row. A
    lid lets a healthy reading fall fast, and climb fast again; a jump is so much larger that it counts all the same.
    """

    factor: float = 2.0
    jump_s: int = 4  # the second of the jump itself has no mean: its frames contradict each other
    jump_factor: float = 5.0
    id: str = "rate-impossible"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (3, 3)
    states: frozenset[State] = SENSOR_STATES
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """The rise over one second and over four, against the furnace's slopes."""
        up_c, down_c = view.furnace.response.fastest_rise_c_per_s, view.furnace.response.fastest_fall_c_per_s
        rise_c, jump_c = view.history.rise_c(1), view.history.rise_c(self.jump_s)
        factor = self.factor * up_c, self.factor * down_c
        if rise_c is not None and view.lid_calm and not -factor[1] <= rise_c <= factor[0]:
            said = f"moved {rise_c:+.1f} K in 1 s, possible -{factor[1]:.1f} to +{factor[0]:.1f}"
            return Finding(self.id, self.reaction, said)
        most_c = self.jump_factor * self.jump_s * max(up_c, down_c)
        if jump_c is None or abs(jump_c) <= most_c:
            return None
        return Finding(self.id, self.reaction, f"jumped by {jump_c:+.0f} K in {self.jump_s} s, possible {most_c:.0f}")


@dataclass(frozen=True, slots=True)
class SensorReversed:
    """From cold the reading should have risen by now: wires exchanged, sensor not in the furnace, or no heat at all.

    At the equal of 90 s of full power a healthy reading has risen by 18 K at least (furnaces of four makes, simulated);
    reversed wires mirror it about the cold junction.
    """

    heated_s: float = 90.0
    least_k: float = 5.0
    fell_k: float = 4.0
    fell_after_s: float = 30.0
    cold_below_c: float = 60.0
    within_s: float = 2700.0
    id: str = "sensor-reversed"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (2, 2)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """The rise since a cold start, against the heat that was ordered."""
        run, reading_c = view.firing.run, view.reading_c
        if run is None or reading_c is None or run.began_c > self.cold_below_c or not view.lid_calm:
            return None
        if view.now_s - run.began_s > self.within_s or run.peak_c >= run.began_c + self.least_k:
            return None
        heated_s = run.ordered_wh * 3600.0 / view.furnace.full_power_w
        rise_k = reading_c - run.began_c
        fell = heated_s >= self.fell_after_s and rise_k <= -self.fell_k
        if not fell and heated_s < self.heated_s:
            return None
        return Finding(self.id, self.reaction, f"{rise_k:+.1f} K since the start, after {heated_s:.0f} s of full power")


@dataclass(frozen=True, slots=True)
class SensorNoisy:
    """The reading jumps about, or frames fail now and then.

    Roughness of a healthy sensor is at most 0.5 K (0.3 K of noise in each of four samples a second, simulated).
    """

    window_s: int = 60
    most_k: float = 1.5
    most_bad: int = 12  # of 240 frames: one in twenty
    id: str = "sensor-noisy"
    reaction: Reaction = HOLD_WITH_HEAT
    needs: tuple[int, int] = (3, 180)  # one alarm for noise that comes and goes
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """Roughness over a minute, and bad frames in it."""
        bad = view.history.bad_frames_in(self.window_s)
        if bad > self.most_bad:
            return Finding(self.id, self.reaction, f"{bad} of {4 * self.window_s} frames without a reading")
        rough_k = view.history.roughness_k(self.window_s)
        if rough_k is None or rough_k <= self.most_k or not view.lid_calm:
            return None
        return Finding(self.id, self.reaction, f"the reading jumps by {rough_k:.1f} K from second to second")


@dataclass(frozen=True, slots=True)
class ColdJunctionHot:
    """The sensor's board is too warm, or warms too fast: the reading is off by what board and junction differ."""

    most_k_per_min: float = 5.0
    advise_c: float = 60.0
    stop_c: float = 70.0
    id: str = "cold-junction-hot"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (5, 5)
    states: frozenset[State] = SENSOR_STATES
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """The cold junction, and how it moved in a minute."""
        cold_c, before_c = view.history.cold_c(), view.history.cold_c(60)
        if cold_c is None:
            return None
        if cold_c > self.stop_c:
            stop = self.reaction | CONTROLLED_STOP
            return Finding(self.id, stop, f"sensor board at {cold_c:.0f} °C, allowed {self.stop_c:.0f}")
        if cold_c > self.advise_c:
            return Finding(self.id, self.reaction, f"sensor board at {cold_c:.0f} °C")
        if before_c is None or abs(cold_c - before_c) <= self.most_k_per_min:
            return None
        return Finding(self.id, self.reaction, f"sensor board moved by {cold_c - before_c:+.1f} K in a minute")
