"""Watches over heat: does the furnace answer the relay, and only the relay?"""

from dataclasses import dataclass

from supervisor.firing.profile import cap_c
from supervisor.firing.states import HEATED, LIVE, State
from supervisor.watches.finding import TRIP, Finding, Reaction
from supervisor.watches.view import Innovations, View

_EXPLAINED_K = 1.0


def explained(innovations: Innovations | None, sign: float) -> bool:
    """Furnace and power account for it: the mean innovation of half a minute is well inside what healthy ones are.

    The two plain rules here know nothing of the furnace: where the model reckons it may say that nothing is wrong.
    """
    mean_k = None if innovations is None else innovations.mean_30_k
    return mean_k is not None and sign * mean_k < _EXPLAINED_K


@dataclass(frozen=True, slots=True)
class HeatWithoutCommand:
    """No heat ordered, and the reading above the setpoint still climbs without slowing down.

    After a hard heat-up the reading of a healthy furnace climbs on from what element and wall hold, by 11 K in 30 s
    (simulated), but ever more slowly; a relay that does not let go keeps the pace. A sheath below 300 °C is late by
    minutes: there a longer silence is needed, and more of a rise (a healthy one still made 3.3 K after 150 s, one that
    is heated 20 K and more; simulated).
    """

    window_s: int = 30
    half_s: int = 15
    keeps_pace: float = 0.8
    cold_silence_s: int = 150
    cold_below_c: float = 300.0
    above_k: float = 5.0
    rise_k: float = 3.0
    cold_rise_k: float = 8.0
    id: str = "heat-without-command"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (2, 2)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """Rise over the window at zero duty, and over its later half against its earlier."""
        setpoint_c, reading_c = view.firing.setpoint_c, view.reading_c
        if view.history.mean_duty(self.window_s) != 0.0 or setpoint_c is None or reading_c is None:
            return None
        cold = reading_c < self.cold_below_c
        if cold and view.history.mean_duty(self.cold_silence_s) != 0.0:
            return None
        rise_k, late_k = view.history.rise_c(self.window_s), view.history.rise_c(self.half_s)
        if rise_k is None or late_k is None or not view.lid_calm or explained(view.innovations, 1.0):
            return None
        if (
            rise_k <= (self.cold_rise_k if cold else self.rise_k)
            or reading_c <= setpoint_c + self.above_k
            or late_k < self.keeps_pace * (rise_k - late_k)
        ):
            return None
        return Finding(self.id, self.reaction, f"rose {rise_k:.1f} K in {self.window_s} s with the relay off")


@dataclass(frozen=True, slots=True)
class HeatWithoutRise:
    """Full power for a minute, and the reading falls further than any melting charge can pull it down.

    A melting charge sags by at most 8 K a minute here (simulated); 15 K in 45 s is two and a half times that, so the
    arrest stays silent. The lid and a cold addition do fall so fast: hence three minutes of patience after a lid, and
    more after a start with cold metal in a warm pot, which takes its heat from what the sensor sees.
    """

    charged_s: int = 600
    cold_c: float = 60.0
    window_s: int = 60
    fall_over_s: int = 45
    fall_k: float = 15.0
    least_duty: float = 0.98
    id: str = "heat-without-rise"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """Fall of the reading at full duty."""
        run = view.firing.run
        if run is not None and run.charged_warm and view.now_s - run.began_s < self.charged_s:
            return None
        if run is not None and (view.reading_c or 0.0) < run.began_c <= self.cold_c:
            return None  # it has never risen: the watch for exchanged wires says why
        duty, rise_k = view.history.mean_duty(self.window_s), view.history.rise_c(self.fall_over_s)
        if duty is None or rise_k is None or duty < self.least_duty or rise_k > -self.fall_k or not view.lid_calm:
            return None
        if explained(view.innovations, -1.0):
            return None
        return Finding(self.id, self.reaction, f"fell {-rise_k:.0f} K in {self.fall_over_s} s at full power")


@dataclass(frozen=True, slots=True)
class HardCap:
    """Hotter than anything that this firing may reach: 2 of 3 samples."""

    id: str = "hard-cap"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (2, 3)
    states: frozenset[State] = frozenset(LIVE | {State.STOPPING})
    each_second: bool = False

    def judge(self, view: View) -> Finding | None:
        """The reading against the profile's top and the furnace's."""
        reading_c, run = view.reading_c, view.firing.run
        if reading_c is None or run is None:
            return None
        most_c = cap_c(run.profile, view.furnace.top_c)
        if reading_c <= most_c:
            return None
        return Finding(self.id, self.reaction, f"{reading_c:.0f} °C, allowed {most_c:.0f}")
