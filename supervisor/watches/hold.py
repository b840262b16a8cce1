"""The watch over what a hold takes: slow faults of the sensor show there alone."""

from dataclasses import dataclass
from math import inf

from supervisor.firing.states import HEATED, State
from supervisor.model.suspicion import SANK_S
from supervisor.watches.finding import HOLD_WITH_HEAT, Finding, Leave, Reaction
from supervisor.watches.off import SMALL_STEP, frozen
from supervisor.watches.view import Innovations, View

NEEDS_MORE_POWER = "needs-more-power"

SLOW_LIMIT_K = 0.8
"""Of the mean over 300 s, downwards, where the furnace is learned and no metal is in the pot: healthy ones stayed
within 0.65 K (simulated)."""

UNLEARNED_K, UNLEARNED_S = 0.6, 900
"""With nothing learned: of the means over 30, 120 and 300 s, all three of them, from a quarter hour after all metal was
called liquid. A filter with wide factors takes so much in that healthy ones stayed within 0.18 K then, and came to
0.9 K before (simulated, 68 h on three makes). A drift of 5 K a minute leaves 0.7 K; one of 2 K a minute 0.3 K, and is
not told: a piece that falls in late made 2 K, and 0.6 K for half an hour while it melted, and at 0.25 K it was held
for over an hour. Once somebody has looked and pressed nothing is said for a quarter hour."""

JUST_LIQUID_K, JUST_S, CALM_K, CALM_S, CALM_AFTER_S = 2.3, 600, 0.65, 600.0, 900
"""The same, and that of the last 30 s as well, until ten minutes after all metal was called liquid, which a model
may do three minutes too early: with a tenth more metal than was entered a healthy one came to 1.9 K in both. And with
metal, once the lid has been shut for so long and power was not stepped: within 0.58 K. Else, in both as well, within
0.62 K (simulated): after a lid the mean over 300 s alone came to 0.97 K."""

LONG_LIMIT_K, SUNK_LIMIT_K, LONG_AFTER_S = 0.5, 0.45, 1200
"""Of the mean over 600 s, downwards, once all metal has been liquid for so long; and of that and of how far the mean
over 300 s has sunk in ten minutes, both of them. Healthy ones stayed within 0.42 and 0.38 K then (simulated). A drift
of 2 K a minute comes to 0.5 to 0.9 K, and to no more: the filter takes it in."""

SOON_K, SOON_STEPPED_K = 1.35, 1.75
"""Of the means over 30 and 120 s, both of them, from ten minutes after all metal was called liquid: healthy ones
stayed within 1.06 K shortly after a lid and 0.68 K else (simulated, 57 h of melts held for long). The other where power
moved by a quarter within five minutes: one of another make came to 1.37 K as the governor let go of the chamber."""

SANK_K, STANDS_K = 13.5, 10.0
"""Of what the reading has sunk against power alone within eight minutes that began ten minutes after all metal was
called liquid, no lid since, where the power is metered and steady and the reading stands so far: healthy ones stayed
within 10.6 K, with a tenth more or less metal than entered and mains that stepped (simulated, 57 h of melts held for
long). Sooner, a tenth more metal made 31 K of it, and 60 K of heating 14 K; as the governor let go of the chamber one
of another make came to 14 K. A drift of 2 K a minute makes 15 K, however much of it the filter has taken in."""


def _metal_may_explain(view: View) -> bool:
    """More metal than was entered, or metal that melts, runs the reading low as well: the gate asks about the mass."""
    run, estimate = view.firing.run, view.firing.adviser.estimate
    if run is None or run.profile.charge is None:
        return False
    return estimate is None or estimate.phase != "liquid" or run.mass_doubt is not None


def _runs_low(view: View, innovations: Innovations) -> str:
    """That the reading has run low for long, in words; empty: it has not."""
    run, mean_k, liquid_s = view.firing.run, innovations.mean_300_k, view.firing.adviser.follow.liquid_s
    metal = run is not None and run.profile.charge is not None
    if not innovations.learned:
        return _unlearned(view, innovations) if metal and liquid_s >= UNLEARNED_S else ""
    if metal and liquid_s >= JUST_S and (said := _soon(view, innovations)):
        return said
    if metal and liquid_s >= JUST_S + SANK_S and (said := _sank(view)):
        return said
    if mean_k is None:
        return ""
    if not metal:
        return _low(mean_k, SLOW_LIMIT_K)
    calm = _calm(view)
    if not calm or liquid_s < CALM_AFTER_S:  # what came of lid, step or melting still stands in the five minutes
        mean_k = max(mean_k, innovations.mean_30_k or 0.0)
    if liquid_s < JUST_S:
        return _low(mean_k, JUST_LIQUID_K)
    said = _low(mean_k, CALM_K if calm and liquid_s >= CALM_AFTER_S else SLOW_LIMIT_K)
    if said or liquid_s < LONG_AFTER_S:
        return said
    long_k, sunk_k = innovations.mean_600_k, innovations.sunk_k
    if (long_k is not None and long_k < -LONG_LIMIT_K) or (sunk_k is not None and sunk_k < -SUNK_LIMIT_K):
        return f"the reading has run off by {long_k:+.2f} K each second for 10 min, and by less before"
    return ""


def _unlearned(view: View, innovations: Innovations) -> str:
    run = view.firing.run
    if run is not None and view.now_s - run.looked_s < UNLEARNED_S:
        return ""
    means_k = (innovations.mean_30_k, innovations.mean_120_k, innovations.mean_300_k)
    mean_k = max(inf if mean_k is None else mean_k for mean_k in means_k)
    return _low(mean_k, UNLEARNED_K)


def _soon(view: View, innovations: Innovations) -> str:
    long_k, short_k = innovations.mean_120_k, innovations.mean_30_k
    limit_k = SOON_K if _steady(view) else SOON_STEPPED_K
    if long_k is None or short_k is None or max(long_k, short_k) >= -limit_k:
        return ""
    return f"the reading has run off by {long_k:+.2f} K each second for 2 min, allowed {limit_k}"


def _sank(view: View) -> str:
    estimate = view.firing.adviser.estimate
    sank_k, rose_k = None if estimate is None else estimate.sank_k, view.history.rise_c(int(SANK_S))
    if sank_k is None or sank_k >= -SANK_K or rose_k is None or abs(rose_k) > STANDS_K or not _steady(view):
        return ""
    return f"the reading has sunk by {-sank_k:.0f} K in 8 min against what the power gives, allowed {SANK_K}"


def _calm(view: View) -> bool:
    """No lid for ten minutes, and no step of power in the five that are judged."""
    shut_s = view.firing.lid.last_shut_s
    return (shut_s is None or view.now_s - shut_s >= CALM_S) and _steady(view)


def _steady(view: View) -> bool:
    duties = [view.history.mean_duty(60, ago_s) for ago_s in range(0, 300, 60)]
    known = [duty for duty in duties if duty is not None]
    return bool(known) and max(known) - min(known) <= SMALL_STEP


def _low(mean_k: float, limit_k: float) -> str:
    if mean_k >= -limit_k:
        return ""
    return f"the reading has run off by {mean_k:+.2f} K each second for 5 min, allowed {limit_k}"


@dataclass(frozen=True, slots=True)
class NeedsMorePower:
    """The furnace takes more power than it should for this reading: the sensor leaves its place, or heat gets lost.

    A sensor that creeps out or drifts reads lower and lower, and the furnace is made hotter and hotter to please it.
    From now on it gets no more heat than in the last ten minutes (never less than two thirds of the last five), nor
    than a spent allowance leaves. Two signs: the
    reading has run low for minutes, with nothing learned over liquid metal alone; or five minutes at a hold took a
    quarter more energy than the lowest five of the quarter hour before, by the meter where there is one, so that low
    mains says nothing.
    """

    window_s: int = 300
    before_s: int = 900
    step_s: int = 60
    limit: float = 1.25
    least_more: float = 0.03  # of full power
    least_duty: float = 0.12  # less is a strong furnace at a low temperature, which takes what an overshoot leaves
    most_duty: float = 0.6  # more is no hold: metal melts
    near_k: float = 4.0
    same_k: float = 1.0
    after_lid_s: float = 300.0
    id: str = NEEDS_MORE_POWER
    reaction: Reaction = HOLD_WITH_HEAT | Reaction(leave=Leave.BY_A_PRESS)
    needs: tuple[int, int] = (3, 180)  # one alarm for what wanders about the limit
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """The innovations of five minutes, and what they took against the lowest before them."""
        innovations, duty = view.innovations, view.history.mean_duty(self.window_s)
        if frozen(view):
            return None
        said = "" if innovations is None or _metal_may_explain(view) else _runs_low(view, innovations)
        if said and duty is not None:
            return Finding(self.id, self.reaction | Reaction(duty_ceiling=self._ceiling(view, duty)), said)
        return self._at_a_hold(view)

    def _ceiling(self, view: View, duty: float) -> float:
        """What the last five minutes gave, or the five before if that was less, but no fall of a third at once."""
        run, before = view.firing.run, view.history.mean_duty(self.window_s, self.window_s)
        most = duty if before is None else max(min(duty, before), duty / 1.5)
        return min(1.0, most if run is None else min(most, run.beyond_duty))

    def _at_a_hold(self, view: View) -> Finding | None:
        """The last five minutes against the lowest before them, as long as the hold has lasted."""
        setpoint_c = view.firing.setpoint_c
        if setpoint_c is None or view.firing.lid.opened_s is not None or not self._held(view, setpoint_c, 2):
            return None
        now = self._power(view, 0)
        if now is None:
            return None
        lowest = self._lowest(view, setpoint_c)
        most = self.limit * max(lowest, self.least_duty)
        if not (now > most and now - lowest > self.least_more and lowest < self.most_duty):
            return None
        estimate = view.firing.adviser.estimate
        if estimate is not None and estimate.phase == "melting":
            return None
        reaction = self.reaction | Reaction(duty_ceiling=min(1.0, 1.05 * lowest))
        return Finding(self.id, reaction, f"{now:.2f} of full power, {lowest:.2f} held it before")

    def _lowest(self, view: View, setpoint_c: float) -> float:
        """The lowest five minutes that ended at least five minutes ago, all of them in this hold."""
        shut_s = view.firing.lid.last_shut_s
        calm_s = inf if shut_s is None else view.now_s - shut_s - self.after_lid_s
        lowest = inf
        for ago_s in range(self.window_s, self.window_s + self.before_s + 1, self.step_s):
            if ago_s + self.window_s > calm_s or not self._same(view, setpoint_c, ago_s + self.window_s):
                break
            if self._held(view, setpoint_c, ago_s) and self._held(view, setpoint_c, ago_s + self.window_s):
                power = self._power(view, ago_s)
                lowest = min(lowest, inf if power is None else power)
        return lowest

    def _same(self, view: View, setpoint_c: float, ago_s: int) -> bool:
        then_c = view.history.setpoint_c(ago_s)
        return then_c is not None and abs(then_c - setpoint_c) <= self.same_k

    def _held(self, view: View, setpoint_c: float, ago_s: int) -> bool:
        """The reading was at the setpoint."""
        reading_c = view.history.hot_c(ago_s)
        return reading_c is not None and abs(reading_c - setpoint_c) <= self.near_k

    def _power(self, view: View, ago_s: int) -> float | None:
        """Over five minutes, as a share of full power."""
        per_kwh = view.furnace.pulses_per_kwh
        pulses = None if per_kwh is None else view.history.pulses_in(self.window_s, ago_s)
        if per_kwh is None or not pulses:  # a meter that stands still has a watch of its own
            return view.history.mean_duty(self.window_s, ago_s)
        return pulses * 3.6e6 / per_kwh / (view.furnace.full_power_w * self.window_s)
