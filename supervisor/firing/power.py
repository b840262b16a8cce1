"""What meter and current input say of power, beside what was ordered: evidence only, kept for the watches.

A pulse that comes while the relay has been off for long enough stands for energy that nobody ordered, as long as the
contactor is in. With the contactor proved open no energy can flow: what the meter counts then, it counts wrong.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf
from typing import TYPE_CHECKING

from hardware.ports import Inputs, Level
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.reckoning import METER_FITS

if TYPE_CHECKING:  # a turn holds a firing, which holds this
    from supervisor.firing.adviser import Adviser
    from supervisor.firing.turn import Turn

LATE_S = 0.75
"""A pulse so soon after the relay went off may still be of before: half a second for the meter's delay, then the grid
(our choice)."""

FEW, FRESH, MANY = 8.0, 20.0, 60.0
"""Pulses expected: so many that none of them is telling; that a step shows; that a quarter off is no chance."""

USUAL = (0.8, 1.1)
"""Of the power by supply voltage and resistance: so little or so much is taken as usual once it was learned."""

METERED_OVER_S = 30

LOW_DUTY, LOOK_SHARE = 0.7, 0.2
"""Below this duty one off-time in so much of the time lasts for as long as a look takes, and at once when full power
ends: nothing shows that the relay lets go before it is told to. Where off-times are shorter, at more than half of full
power in windows of five seconds, a look makes one of them half as long again: 7 % of the heat (our choice)."""

CURRENT_LOOK_S, PULSE_TIMES = 0.5, 1.1
"""A look takes two readings of a current input, or a pulse's time at full power, and what the meter is late."""

WRONG_FOR_S = 1800.0
"""How long a meter that counted with the contactor open is used by nobody."""

_SECONDS = 4096  # of the ring, a power of two: over an hour at a duty of one per cent is out of reach, and says nothing


@dataclass(slots=True)
class _Back:
    """How far back so many expected pulses lie: an index that only goes on."""

    expected: float
    at: int = 0


@dataclass(slots=True)
class Power:
    """What is known of power. Changed by `see` and `begin` alone, once a cycle."""

    off_since_s: float | None = None  # since when the relay is ordered off; None: it is on
    on_since_s: float | None = None
    out_since_s: float | None = None  # since when the contactor is proved open
    pulses: int | None = None
    fair: int = 0  # pulses that ordered heat may stand for
    off_pulses_s: tuple[float, float] = (-inf, -inf)  # the last two that came with the relay off and the contactor in
    out_pulses_s: tuple[float, float] = (-inf, -inf)  # the last two that came with the contactor proved open
    quiet_s: float = 0.0  # relay off and contactor in, in all, without a sign of power since it was last nought
    current_seen: bool = False  # the current input has said in this firing that current flows
    empty_s: float = 0.0  # for so long the relay has been on without current, off-times left out
    expected: float = 0.0  # pulses that the ordered heat should have given, since the firing began
    expected_then: float = 0.0  # the same when the last fair pulse came
    looked_s: float = -inf  # when it last was off for long enough to show that it lets go
    look_begun: bool = False  # it is off so that something can show that
    usual: float = 1.0  # of the power by supply voltage and resistance, what this furnace took in the melts before
    seconds: int = 0
    _expected: list[float] = field(default_factory=lambda: [0.0] * _SECONDS)
    _fair: list[int] = field(default_factory=lambda: [0] * _SECONDS)
    _few: _Back = field(default_factory=lambda: _Back(FEW))
    _fresh: _Back = field(default_factory=lambda: _Back(FRESH))
    _many: _Back = field(default_factory=lambda: _Back(MANY))
    _before: _Back = field(default_factory=lambda: _Back(FRESH + MANY))

    def begin(self) -> None:
        """A firing begins: supply and element are judged anew."""
        self.fair, self.expected, self.seconds, self.empty_s = 0, 0.0, 0, 0.0
        self.expected_then = 0.0
        self.quiet_s, self.current_seen = 0.0, False
        self.off_pulses_s = (-inf, -inf)
        for back in (self._few, self._fresh, self._many, self._before):
            back.at = 0

    def see(
        self,
        inputs: Inputs,
        pulses: int,
        *,
        relay: bool,
        now_s: float,
        dt_s: float,
        expected: float,
    ) -> None:
        """One cycle. relay: as ordered for the dt_s that end now; expected: pulses that its heat should have given."""
        began_s = now_s - dt_s
        if relay:
            self.off_since_s = None
            self.on_since_s = began_s if self.on_since_s is None else self.on_since_s
        else:
            self.on_since_s = None
            self.off_since_s = began_s if self.off_since_s is None else self.off_since_s
        if inputs.mirror is not Level.CLOSED:
            self.out_since_s = None
        elif self.out_since_s is None:
            self.out_since_s = now_s
        if self.off_since_s is not None and self.out_since_s is None and now_s - self.off_since_s > LATE_S:
            self.quiet_s += dt_s
        self._current(inputs.load_current, dt_s)
        self.expected += expected
        new = 0 if self.pulses is None else pulses - self.pulses
        self.pulses = pulses
        if new > 0:
            self._count(new, now_s)

    def _current(self, current: Level, dt_s: float) -> None:
        if current is Level.CLOSED:
            self.empty_s = 0.0
            self.current_seen = self.current_seen or self.on_since_s is not None
            self.quiet_s = self.quiet_s if self.off_since_s is None else 0.0
        elif current is Level.NOT_FITTED:
            self.empty_s = 0.0
        elif self.on_since_s is not None:
            self.empty_s += dt_s

    def _count(self, new: int, now_s: float) -> None:
        if self.out_since_s is not None and now_s - self.out_since_s > LATE_S:
            self.out_pulses_s = (self.out_pulses_s[1] if new == 1 else now_s, now_s)
        elif self.off_since_s is not None and now_s - self.off_since_s > LATE_S:
            self.off_pulses_s = (self.off_pulses_s[1] if new == 1 else now_s, now_s)
            self.quiet_s = 0.0
        else:
            self.fair += new
            self.expected_then = self.expected

    def second(self) -> None:
        """Once a second: keep both counts, and move on what looks back."""
        at = self.seconds & (_SECONDS - 1)
        self._expected[at], self._fair[at] = self.expected, self.fair
        self.seconds += 1
        for back in (self._few, self._fresh, self._many, self._before):
            oldest = max(0, self.seconds - _SECONDS)
            back.at = max(back.at, oldest)
            while (
                back.at + 1 < self.seconds
                and self.expected - self._expected[(back.at + 1) & (_SECONDS - 1)] >= back.expected
            ):
                back.at += 1

    # -- what it comes to ------------------------------------------------------------------------------------------

    @property
    def silent(self) -> str | None:
        """Heat was ordered for at least eight pulses, and one came at most: how many came, of how many."""
        expected, came = self._since(self._few)
        return f"{came} meter pulses, about {expected:.0f} expected" if expected >= FEW and came <= 1 else None

    @property
    def overdue(self) -> float:
        """Pulses that ordered heat should have given since the last one came: at half power one comes at two."""
        return self.expected - self.expected_then

    @property
    def ratio(self) -> float | None:
        """Metered over ordered power, over the last minutes in which heat was ordered; None: too little to tell."""
        expected, came = self._since(self._many)
        return came / expected if expected >= MANY else None

    @property
    def fresh_ratio(self) -> float | None:
        """The same over the last 20 pulses or so: within a pulse's width, 5 %."""
        expected, came = self._since(self._fresh)
        return came / expected if expected >= FRESH else None

    def ratio_before(self, least: float = MANY) -> float | None:
        """The same over the minutes before those, once so many pulses were expected in them."""
        expected, came = self._since(self._before)
        fresh_expected, fresh_came = self._since(self._fresh)
        if expected < FRESH + least:
            return None
        return (came - fresh_came) / (expected - fresh_expected)

    def _since(self, back: _Back) -> tuple[float, int]:
        if not self.seconds:
            return 0.0, 0
        then = back.at & (_SECONDS - 1)
        return self.expected - self._expected[then], self.fair - self._fair[then]

    def metered_w(self, per_kwh: int) -> float:
        """Mean power over the last half minute by all that was counted, W: nothing is known here of any order."""
        seconds = min(METERED_OVER_S, self.seconds - 1)
        if seconds < 1:
            return 0.0
        before = self._fair[(self.seconds - 1 - seconds) & (_SECONDS - 1)]
        return (self.fair - before) * 3.6e6 / per_kwh / seconds

    def counted_open(self, now_s: float) -> bool:
        """It counted with the contactor proved open, twice within half a minute and lately: the meter is wrong."""
        first_s, last_s = self.out_pulses_s
        return last_s - first_s <= 30.0 and now_s - last_s <= WRONG_FOR_S

    def trusted(self, now_s: float) -> bool:
        """What the meter says may be used: it neither counts without power, nor far more or less than can be."""
        ratio = self.ratio
        return not self.counted_open(now_s) and (ratio is None or self.fits(ratio))

    def fits(self, ratio: float) -> bool:
        """Whether metered over ordered power can be true beside what is usual."""
        least, most = METER_FITS
        return least <= ratio / self.usual <= most


def look_s(furnace: FurnaceDescription) -> float | None:
    """How long the relay must be off for meter or current input to show that it is; None: neither is fitted."""
    if furnace.pulses_per_kwh is not None:
        return LATE_S + PULSE_TIMES * 3.6e6 / (furnace.pulses_per_kwh * furnace.full_power_w)
    return None if furnace.wiring.load_current is None else CURRENT_LOOK_S


def look_due(turn: Turn, duty: float) -> bool:
    """Whether the relay has to be off now, so that something can show that it lets go.

    It lasts as long as it takes, also where full power is wanted again before: a look that is broken off has shown
    nothing. Where neither input is fitted nothing would show, and heat is never kept back.
    """
    power, takes_s = turn.firing.power, look_s(turn.furnace)
    if takes_s is None or turn.now_s - power.looked_s <= takes_s / LOOK_SHARE:
        power.look_begun = False
    elif 0.0 < duty < LOW_DUTY:
        power.look_begun = True
    return power.look_begun and duty > 0.0


def see_power(turn: Turn, *, relay: bool, dt_s: float) -> None:
    """Take meter and current input of this cycle. relay: as ordered for the dt_s that end now."""
    power, furnace = turn.firing.power, turn.furnace
    per_kwh = furnace.pulses_per_kwh
    relay = relay or furnace.looks_only  # somebody else's may be on at any time, and nothing is expected of it
    power.usual = _usual_share(turn.firing.adviser)
    expected = 0.0
    if per_kwh is not None and relay and not furnace.looks_only:
        expected = dt_s * furnace.full_power_w * per_kwh / 3.6e6
    sample = turn.sample
    power.see(sample.inputs, sample.energy_pulses, relay=relay, now_s=turn.now_s, dt_s=dt_s, expected=expected)
    takes_s = look_s(furnace)
    if takes_s is not None and power.off_since_s is not None and turn.now_s - power.off_since_s >= takes_s:
        power.looked_s = turn.now_s
    if turn.second and per_kwh is not None:
        power.second()


def _usual_share(adviser: Adviser) -> float:
    """Somebody's mains that is always low is told while nothing is learned, and is no news in each melt afterwards."""
    if adviser.model is None or adviser.no_boost:
        return 1.0
    least, most = USUAL
    return min(most, max(least, adviser.model.power_share))
