"""From a flown firing to a few numbers, and from those of many firings to the figures of the group `control`."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from math import isfinite, nan, sqrt

from supervisor.firing.profile import Hold, Profile, Ramp
from tests.benchmarks.bound import Bound
from tests.benchmarks.flight import Flown, Minute, Second
from tests.benchmarks.standard_firings import Kind

RAMP_FROM_S = 300.0
FOLLOWS_AT_DUTY = 0.85
HOLD_OVER_S = 1200
MEAN_OVER_S = 10
TO_GO_MIN = 15.0
PHASES = ("solid", "melting", "liquid")


@dataclass(slots=True)
class Errors:
    """Sums of one firing in one phase."""

    count: int = 0
    sum_k: float = 0.0
    squares_k2: float = 0.0
    covered: int = 0

    def take(self, said: Minute) -> None:
        """One minute more."""
        error_k = said.metal_c - said.true_c
        self.count += 1
        self.sum_k += error_k
        self.squares_k2 += error_k**2
        self.covered += said.low_c <= said.true_c <= said.high_c


@dataclass(slots=True)
class Told:
    """What is kept of one firing. None: it does not apply, or it never came."""

    kind: str
    seed: int
    controller: str
    dips_learned: bool = False  # the melts that the model is learned from had a dip reading each
    state: str = ""
    alarms: tuple[str, ...] = ()
    minutes: float | None = None
    kwh: float | None = None
    bound: Bound | None = None
    over_target_k: float | None = None  # hottest metal after ready
    ramps: list[tuple[int, float, float]] = field(default_factory=list)  # count, sum of squares, worst
    overshoot_k: float | None = None
    holds_k: list[float] = field(default_factory=list)
    relay_per_h: float | None = None
    over_cap_k: float = -1e9  # reading over the highest allowed setpoint
    setpoint_over_cap: bool = False
    boosted_min: float = 0.0
    phases: dict[str, Errors] = field(default_factory=lambda: {phase: Errors() for phase in PHASES})
    dipped: Errors = field(default_factory=Errors)
    unsaid: int = 0  # minutes with metal and no estimate
    to_go_error_min: float | None = None
    mass_doubted: bool = False
    forecast_min: float | None = None
    forecast_kwh: float | None = None
    open_loop_k: float | None = None  # with the mass as it was
    molten_error_min: float | None = None
    open_loop_entered_k: float | None = None  # with the mass as it was entered
    molten_error_entered_min: float | None = None

    @property
    def ratio(self) -> float | None:
        """Minutes to pour over the bound's."""
        return None if self.minutes is None or self.bound is None else self.minutes / self.bound.minutes


def told(flown: Flown, profile: Profile, kind: Kind, seed: int, controller: str, target_c: float, cap_c: float) -> Told:
    """Reduce a flight. cap_c: what no setpoint of this firing may pass."""
    found = Told(kind.name, seed, controller, mass_doubted=flown.mass_doubted)
    found.state, found.alarms = flown.state, tuple(flown.alarms)
    seconds = flown.seconds
    begun_s = flown.added_s or 0.0
    if flown.ready_s is not None:
        found.minutes = (flown.ready_s - begun_s) / 60.0
        joules = [s.true.supplied_j for s in seconds if begun_s <= s.t_s <= flown.ready_s]
        found.kwh = (joules[-1] - joules[0]) / 3.6e6
        found.over_target_k = max(s.true.metal_hottest_c for s in seconds if s.t_s >= flown.ready_s) - target_c
    if kind.fault or kind.true_mass:  # it counts whether ready or not
        found.over_target_k = max(s.true.metal_hottest_c for s in seconds) - target_c
    found.over_cap_k = max(s.reading_c for s in seconds if isfinite(s.reading_c)) - cap_c
    found.setpoint_over_cap = any(s.setpoint_c > cap_c + 1e-6 for s in seconds)
    found.boosted_min = sum(s.boost for s in seconds) / 60.0
    if profile.charge is None:
        _regulation(found, flown, profile)
    else:
        _estimate(found, flown)
    return found


def _regulation(found: Told, flown: Flown, profile: Profile) -> None:
    """Ramps, overshoot, holds and relay of a firing without metal."""
    segments = profile.segments
    overshoots = []
    for number, segment in enumerate(segments):
        here = [s for s in flown.seconds if s.segment == number]
        if isinstance(segment, Ramp):
            ramp = _ramp(here)
            if ramp is not None:
                found.ramps.append(ramp)
            overshoots += [s.reading_c - segment.to_c for s in here]
        else:
            before = segments[number - 1]
            assert isinstance(before, Ramp)
            overshoots += [s.reading_c - before.to_c for s in here]
            if segment.duration_s >= HOLD_OVER_S + 600.0 and len(here) >= HOLD_OVER_S:
                found.holds_k.append(_peak_to_peak(here[-HOLD_OVER_S:]))
    found.overshoot_k = max(overshoots)
    last = segments[-1]
    if isinstance(last, Hold) and flown.seconds:
        end_s = flown.seconds[-1].t_s
        found.relay_per_h = (
            sum(end_s - HOLD_OVER_S <= at_s <= end_s for at_s in flown.relay_on_s) * 3600.0 / HOLD_OVER_S
        )


def _ramp(seconds: Sequence[Second]) -> tuple[int, float, float] | None:
    """Count, sum of squares and worst of the errors, from five minutes on; None where full power was near."""
    if not seconds:
        return None
    counted = [s for s in seconds if s.t_s >= seconds[0].t_s + RAMP_FROM_S and isfinite(s.reading_c)]
    duties = [s.ordered for s in counted]
    minutes = [sum(duties[at : at + 60]) / 60.0 for at in range(0, len(duties) - 59, 60)]
    if not minutes or max(minutes) > FOLLOWS_AT_DUTY:
        return None
    errors = [s.reading_c - s.setpoint_c for s in counted]
    return len(errors), sum(e * e for e in errors), max(map(abs, errors))


def _peak_to_peak(seconds: Sequence[Second]) -> float:
    """Of means over ten seconds, which take the thermocouple's own noise out."""
    means = [
        sum(s.reading_c for s in seconds[at : at + MEAN_OVER_S]) / MEAN_OVER_S
        for at in range(0, len(seconds), MEAN_OVER_S)
    ]
    return max(means) - min(means)


def _estimate(found: Told, flown: Flown) -> None:
    for said in flown.minutes:
        if said.doubt:
            found.unsaid += 1
        elif said.dipped:
            if said.share_molten >= 0.999:
                found.dipped.take(said)
        else:
            solid, liquid = said.share_molten <= 0.001, said.share_molten >= 0.999
            found.phases["solid" if solid else "liquid" if liquid else "melting"].take(said)
    begun_s, ready_s = flown.added_s or 0.0, flown.ready_s
    if ready_s is not None and ready_s - begun_s > TO_GO_MIN * 60.0:
        at_s = ready_s - TO_GO_MIN * 60.0
        near = [said for said in flown.minutes if said.minutes is not None and abs(said.t_s - at_s) <= 60.0]
        if near:
            said = min(near, key=lambda said: abs(said.t_s - at_s))
            found.to_go_error_min = (said.minutes or 0.0) - (ready_s - said.t_s) / 60.0


# -- of many firings ---------------------------------------------------------------------------------------------------


def mean(values: Iterable[float]) -> float:
    """Arithmetic mean; nan of nothing."""
    listed = list(values)
    return sum(listed) / len(listed) if listed else nan


def rms(values: Iterable[float]) -> float:
    """Root of the mean square; nan of nothing."""
    return sqrt(mean(value * value for value in values))


def quantile(values: Iterable[float], share: float) -> float:
    """The value that so large a share does not exceed: the next one up; nan of nothing."""
    ordered = sorted(values)
    if not ordered:
        return nan
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def phase_rms(firings: Iterable[Told], phase: str) -> float:
    """Error of the metal's mean temperature, each firing one weight, K."""
    errors = [firing.phases[phase] for firing in firings]
    return sqrt(mean(e.squares_k2 / e.count for e in errors if e.count))


def phase_bias(firings: Iterable[Told], phase: str) -> float:
    """Mean error, each firing one weight, K."""
    errors = [firing.phases[phase] for firing in firings]
    return mean(e.sum_k / e.count for e in errors if e.count)


def phase_coverage(firings: Iterable[Told], phase: str) -> float:
    """Share of minutes in which the truth lay in the band, each firing one weight."""
    errors = [firing.phases[phase] for firing in firings]
    return mean(e.covered / e.count for e in errors if e.count)
