"""What one firing is told by the model: the metal, minutes to pour, the forecast. It advises; it never heats.

Every 5 s of process time the estimator goes on. Nothing is raised into the cycle: what cannot be reckoned is a doubt,
and with a doubt there is no boost, no number on a page, and no more heat than without any model.
"""

from collections import deque
from dataclasses import dataclass, field, replace
from math import sqrt

from supervisor.firing.fed import Act, Fed, take, without_additions
from supervisor.firing.feed_forward import FeedForward
from supervisor.firing.follow import CANNOT, Follow
from supervisor.firing.forecasts import Forecaster
from supervisor.firing.meter import Meter
from supervisor.firing.profile import Profile
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.reckoning import ROOM_C
from supervisor.metal.charge import Charge
from supervisor.model.cooldown import Cooldown
from supervisor.model.countdown import Countdown, Course, GateAhead, Minutes
from supervisor.model.courses import Start
from supervisor.model.estimate import Estimate, Estimator
from supervisor.model.forecast import ALL, Forecast
from supervisor.model.learned import Model, usable_for_boost

EVERY_S = 5.0
PROMISE_MOVES_S = 120.0
REPLAYED_AT_ONCE = 8
"""Steps that are reckoned again in one cycle: it may not wait for all of them."""

AHEAD_AT_ONCE = 8
"""Steps that are looked ahead in one cycle, for the same reason."""

FORECAST_AT_ONCE = 16
"""Steps of a forecast in one cycle, 10 ms here, when nothing heats: some seconds for a melt."""

LOOKS_AGAIN = 12.0
LOOKS_EVERY_S = (30.0, 300.0)
"""It looks ahead anew when a twelfth of the time has gone, at least and at most after so long."""


@dataclass(slots=True)
class Adviser:
    """One supervisor's: the model for the firings to come, and what is reckoned of the firing in progress."""

    furnace: FurnaceDescription
    adopted: Model | None = None  # for the firings to come
    commissioning: Model | None = None  # the first that was adopted: how far later ones may be from it
    plain: bool = False  # the firing is regulated without any model, for comparison
    model: Model | None = None  # of this firing, frozen at its start
    no_boost: str = "nothing is learned of this furnace"
    forecast: Forecast | None = None  # of what is prepared, then frozen
    boost_wh: float | None = None  # forecast for LIGHTER of the mass
    boost_minutes: float | None = None  # forecast to pour
    estimate: Estimate | None = None
    minutes: Minutes | None = None
    minutes_from_s: float = 0.0  # process time that they count from
    gate_ahead: GateAhead | None = None  # counts from the same time; None: it is open, or nobody knows
    promise_s: float | None = None  # process time of the likely pour, as last said: it moves when it moves by much
    doubt: str = ""  # why nothing can be reckoned in this firing any more
    residual_k: float | None = None  # measured less expected, one step ahead
    meter: Meter = field(default_factory=Meter)
    follow: Follow = field(default_factory=Follow)  # the stiff filter, for the watches
    _first_kwh: float | None = None
    _estimator: Estimator | None = None
    _began: tuple[float, Charge | None, bool] | None = None
    _acts: list[Act] = field(default_factory=list)
    _reading_c: float | None = None
    _sum_j: float = 0.0
    _sum_s: float = 0.0
    _lid_open: bool = False
    _fed: list[Fed] = field(default_factory=list)
    _again: deque[Fed] = field(default_factory=deque)
    _ahead: Countdown | None = None
    _ahead_from_s: float = 0.0
    _ahead_of: tuple[float, ...] = ()
    _forecaster: Forecaster | None = None

    def settled_duty(self, at_c: float) -> float:
        """The duty that keeps at_c once all is settled, as learned; by the data sheets while nothing is.

        What was learned later loosens nothing: never more than by the first model of this furnace.
        """
        model = None if self.no_boost else self.model
        duty = FeedForward(self.furnace, model).settled_duty(at_c)
        if model is None or self.commissioning is None:
            return duty
        return min(duty, FeedForward(self.furnace, self.commissioning).settled_duty(at_c))

    @property
    def need_kwh(self) -> float | None:
        """Energy to ready by the forecast, never more than the first model of this furnace makes of it."""
        if self.forecast is None:
            return None
        return self.forecast.kwh if self._first_kwh is None else min(self.forecast.kwh, self._first_kwh)

    def prepare(self, profile: Profile, last_c: float | None, boost_cap_c: float) -> None:
        """What is prepared is forecast from now on, see `reckoned`; what was reckoned of the firing before is over."""
        reading_c = ROOM_C if last_c is None else last_c
        self._estimator = self._began = self.estimate = self.residual_k = None
        self.follow.end()
        self.no_minutes()
        self._acts, self._fed, self._again, self.doubt = [], [], deque(), ""
        self.model = None if self.plain else self.adopted
        self.no_boost = self._why_no_boost()
        mains = sqrt(self.meter.ratio(self.furnace.pulses_per_kwh))  # of the firing before, while it was the same day
        start = Start(reading_c, mains_factor=mains, cap_c=None if self.no_boost else boost_cap_c)
        first = self.commissioning
        other = None if first is self.model else first
        self._forecaster = Forecaster(self.furnace, profile, start, self.model, other, bounds=not self.no_boost)
        self.forecast = self.boost_wh = self.boost_minutes = self._first_kwh = None

    @property
    def reckoned(self) -> bool:
        """The forecast of what is prepared is there, as far as there can be one."""
        return self._forecaster is None

    def reckon(self, steps: int = ALL) -> None:
        """Go on with the forecast of what is prepared; all of it at once where nobody waits for the cycle."""
        if self._forecaster is not None and self._forecaster.go_on(steps):
            self.forecast, self.boost_wh, self.boost_minutes, self._first_kwh = self._forecaster.found
            self._forecaster = None

    def begin(self, reading_c: float, charge: Charge | None, *, drained: bool) -> None:
        """Heat is allowed: from now on the metal is reckoned with."""
        self._began, self.meter = (reading_c, charge, drained), Meter()
        self._estimator = self._made(reading_c, charge, drained)
        self.follow.begin(self.furnace, self.model, reading_c, charge, learned=not self.no_boost)

    def act(self, kind: str, value: float = 0.0) -> None:
        """Something was done to the metal, or a sensor is in doubt (`freeze`): taken with the next step."""
        if self._began is not None:
            self._acts.append(Act(kind, value))
            self.follow.act(kind, value)

    def weighed_again(self, mass_kg: float) -> None:
        """The charge was weighed again: everything is reckoned anew from the start, a little in each cycle."""
        if self._began is None:
            return
        reading_c, charge, drained = self._began
        if charge is None:
            return
        self._began = (reading_c, replace(charge, mass_kg=mass_kg), drained)
        self._estimator, self.doubt = self._made(*self._began), ""
        self.follow.weighed_again(mass_kg)
        self._again = deque(step._replace(acts=without_additions(step.acts)) for step in self._fed)
        self.estimate = None
        self.no_minutes()

    def second(self, reading_c: float | None, power_w: float, dt_s: float, *, lid_open: bool, over: bool) -> bool:
        """Take one second; True when the estimator has gone on with it. over: the charge is weighed no more."""
        self.follow.second(reading_c, power_w, lid_open=lid_open)
        self._reading_c = reading_c  # the step's last second: a mean would be two seconds late
        self._sum_j += power_w * dt_s
        self._sum_s += dt_s
        self._lid_open = self._lid_open or lid_open
        if self._sum_s < EVERY_S - 0.5:
            return False
        step = Fed(tuple(self._acts), self._reading_c, self._sum_j / self._sum_s, self._lid_open, self._sum_s)
        self._sum_j = self._sum_s = 0.0
        self._lid_open, self._acts = False, []
        if self._estimator is None:
            return False
        if over:  # a furnace may stand for months until something is prepared
            self._fed.clear()
        else:
            self._fed.append(step)
        if self._again:
            self._again.append(step)
            return False
        self._go_on(step)
        self._look()
        return True

    def catch_up(self) -> None:
        """A little of what would take too long for one cycle; called in each."""
        if self._forecaster is not None:
            self.reckon(FORECAST_AT_ONCE)
        elif self._again:
            for _ in range(min(REPLAYED_AT_ONCE, len(self._again))):
                self._go_on(self._again.popleft())
            if not self._again:
                self._look()
        elif self._ahead is not None:
            self._look_further(self._ahead)

    def look_ahead(self, pour_c: float, course: Course, now_s: float, gate_c: float | None = None) -> None:
        """Say how long it is to pour; the answer comes some cycles later, and anew when time or plan has moved on."""
        if self._estimator is None or self._again or self.estimate is None or self.estimate.doubt:
            self.no_minutes()
            return
        of = (pour_c, course.target_c, course.cap_c, course.power_w > 0.0, gate_c or 0.0)
        if of == self._ahead_of:
            likely_s = 0.0 if self.minutes is None else 60.0 * self.minutes.likely
            wait_s = min(max(likely_s / LOOKS_AGAIN, LOOKS_EVERY_S[0]), LOOKS_EVERY_S[1])
            if self._ahead is not None or now_s < self._ahead_from_s + wait_s:
                return
        try:
            self._ahead = self._estimator.countdown(pour_c, course, gate_c)
        except CANNOT as error:
            self._cannot(error)
            return
        self._ahead_of, self._ahead_from_s = of, now_s

    def _look_further(self, ahead: Countdown) -> None:
        try:
            if not ahead.go_on(AHEAD_AT_ONCE):
                return
        except CANNOT as error:
            self._cannot(error)
            return
        self._ahead, self.minutes, self.minutes_from_s = None, ahead.minutes, self._ahead_from_s
        self.gate_ahead = ahead.gate
        self._promise()

    def cooldown(self, to_c: float, *, lid_open: bool) -> Cooldown | None:
        """Begin to look how long the metal stays above to_c without heat; None: that cannot be said."""
        if self._estimator is None or self._again:
            return None
        try:
            return self._estimator.cooldown(to_c, lid_open=lid_open)
        except CANNOT as error:
            self._cannot(error)
            return None

    def minutes_left(self, now_s: float) -> Minutes | None:
        """What is left of the minutes to pour."""
        return None if self.minutes is None else self.minutes.after((now_s - self.minutes_from_s) / 60.0)

    def no_minutes(self) -> None:
        """Nobody knows when: held, or the mass is doubted."""
        self.minutes = self.promise_s = self.gate_ahead = self._ahead = None
        self._ahead_of = ()

    def _promise(self) -> None:
        minutes = self.minutes
        if minutes is None:
            self.promise_s = None
            return
        likely_s = self.minutes_from_s + 60.0 * minutes.likely
        moves_s = max(PROMISE_MOVES_S, 60.0 * (minutes.high - minutes.low) / 6.0)  # a third of the half band
        if self.promise_s is None or not abs(likely_s - self.promise_s) <= moves_s:
            self.promise_s = likely_s

    def expected_c(self, mass_kg: float) -> float | None:
        """What the reading should be by the model, had mass_kg been charged; None where that cannot be said."""
        if self._estimator is None or self._again:
            return None
        try:
            return self._estimator.expected_reading_c(mass_kg)
        except CANNOT:  # a mass that it does not reckon with
            return None

    def _why_no_boost(self) -> str:
        if self.plain:
            return "this firing is regulated without a model"
        if self.model is None:
            return "nothing is learned of this furnace"
        return (usable_for_boost(self.model, self.furnace) or "").rstrip(".")

    def _made(self, reading_c: float, charge: Charge | None, drained: bool) -> Estimator | None:
        try:
            return Estimator(self.furnace, self.model, reading_c=reading_c, charge=charge, drained=drained)
        except CANNOT as error:
            self._cannot(error)
            return None

    def _go_on(self, step: Fed) -> None:
        estimator = self._estimator
        if estimator is None:
            return
        try:
            if step.acts:
                self._ahead_of = ()  # what was done moves the estimate: look anew
            for act in step.acts:
                take(estimator, act, self._began[1] if self._began else None)
            estimator.go_on(step.reading_c, step.power_w, lid_open=step.lid_open, dt_s=step.dt_s)
        except CANNOT as error:
            self._cannot(error)

    def _look(self) -> None:
        estimator = self._estimator
        if estimator is None:
            return
        try:
            self.estimate, self.residual_k = estimator.estimate(), estimator.residual_k
        except CANNOT as error:
            self._cannot(error)

    def _cannot(self, error: Exception) -> None:
        self._estimator = None
        self.estimate = self.residual_k = None
        self.no_minutes()
        self._again.clear()
        self.doubt = f"The metal cannot be reckoned in this firing any more ({type(error).__name__}: {error})."
