"""Watches that hold the reading against what furnace and power explain.

`Innovations` are reckoned once a second by the stiff filter. Limits are 1.25 times the worst of healthy firings and
more; docs/watches.md says of which, and what is not judged when.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from supervisor.firing.states import HEATED, State
from supervisor.watches.finding import (
    ADVISE,
    CONTROLLED_STOP,
    HOLD_WITHOUT_HEAT,
    NO_HEAT,
    TRIP,
    Finding,
    Leave,
    Reaction,
)
from supervisor.watches.view import Innovations, View

LIMITS_K = (2.5, 2.2, 2.0)
"""Of the means over 10, 30 and 120 s: healthy ones stayed within 1.8, 1.6 and 1.1 K, one that was heated as fast as it
goes within 1.6 K over 120 s (simulated)."""

AFTER_A_STEP_K = (4.0, 3.2, 3.2)
"""The same within three minutes of a step of power: when a boost of a learned furnace ended, healthy ones came
to 3.3, 2.5 and 0.8 K, one of another make to 5.9, 5.5 and 2.6 K while its reading fell. A relay that did not let go
then came to 6.3 K within 20 s and 11 K within 30 s, and its reading went on rising (simulated)."""

MOVES_K, MOVES_S = 0.5, 10
"""A reading that falls so much is not heated unasked, and one that rises so much after heat has come back is heated:
they are late. On a furnace of another make, whose sensor sees less of the element than was learned, means over 10 s
came to 4.4 K as boosts ended, the reading falling by 2 to 4 K in 10 s, and to -4.4 K as full power came back
(simulated)."""

STEP, SMALL_STEP = 0.5, 0.25
"""So much more or less of full power, each taken over half a minute, the last over ten seconds as well; and what is
enough for a reading that moves."""

UNWEIGHED_K = (5.5, 5.3, 4.0)
"""The same while all metal is solid, or once its mass is in doubt, for what has come slowly: half of the entered mass
came to 2.9, 2.8 and 2.7 K, twice as much to 4.6, 4.4 and 3.3 K (simulated), and the gate is to ask about that. Where
somebody presses that it is as entered all the same, nothing is held against the model any more."""

SUDDEN_K = 1.2
"""The mean over 10 s beyond that over 120 s. With half or twice the entered mass it stayed within 0.4 K; under a lid
opened at full power it was 2.2 K after half a minute (simulated)."""

SAME_S = 10  # seconds with one raw word; noise and the cold junction never rest that long
_WINDOWS_S = (10, 30, 120)

SLIP_SHARE = 0.75
LID_SHARE = 0.25
"""The reading's fall over what an open lid makes at this temperature: an open lid 0.26 to 0.5, no heat up to 0.6 and at
a hold 0.25, a sensor on its way out over 0.9 (simulated, five seconds after the limit was passed)."""

SLIP_K, SLIP_S = 2.5, 3
"""Of the mean over 3 s, downwards; healthy ones stayed within 1.9 K (simulated). With a fall faster than that of any
lid it is the sensor, whatever the mass is and however power has just been stepped."""

BREAKS_K, BROKEN_K, BREAKS_FOR_S = 1.2, 1.3, 15
"""Of two seconds, and of them against those shortly before; of ten seconds within 20 s of it; and for how long heat is
kept back. Healthy ones stayed within 1.0 K, where a step of power is not long ago within 0.85 K (simulated, 17 h on
three makes, with melts heated as fast as they go)."""

LID_ABOVE_C = 450.0
"""Below, an open lid takes so little that its fall says nothing."""

LITTLE_DUTY, NONE_CAME = 0.35, 2.5
"""Up to here missing heat seldom makes a reading fall as an open lid does. Where a meter counts, so many pulses that
ordered heat owes say that it is missing all the same."""

_HOTTEST_K = 273.15 + 830.0  # where the furnace file's fastest fall was taken


def beyond(innovations: Innovations | None, sign: float, limits_k: Sequence[float] = LIMITS_K) -> str:
    """The window whose mean is past its limit on that side, in words; empty: none is."""
    if innovations is None:
        return ""
    for mean_k, limit_k, window_s in zip(innovations[:3], limits_k, _WINDOWS_S, strict=True):
        if mean_k is not None and sign * mean_k > limit_k:
            return f"the reading runs off by {mean_k:+.1f} K each second over {window_s} s, allowed {limit_k:.1f}"
    return ""


def runs_off(view: View, sign: float) -> str:
    """The same with the limits of this moment: wider just after a step of power, or while the mass is in doubt."""
    if not beyond(view.innovations, sign) or frozen(view) or _late(view, sign):
        return ""
    if _unweighed(view) and not _sudden(view.innovations, sign):
        return beyond(view.innovations, sign, UNWEIGHED_K)
    return beyond(view.innovations, sign, AFTER_A_STEP_K if _stepped(view, sign) else LIMITS_K)


def _late(view: View, sign: float) -> bool:
    """The reading moves back to what is expected of it, only later."""
    if sign * (view.history.rise_c(MOVES_S) or 0.0) > -MOVES_K:
        return False
    return sign > 0.0 or _stepped(view, sign, SMALL_STEP)


def frozen(view: View) -> bool:
    """A word that has not changed for so long is no reading: the watch for that tells it, with the right cause."""
    return view.belief.same_s >= SAME_S


def _unweighed(view: View) -> bool:
    """More or less metal than was entered would show as well."""
    run, estimate, innovations = view.firing.run, view.firing.adviser.estimate, view.innovations
    if run is None or run.profile.charge is None or innovations is None or not innovations.learned:
        return False  # with nothing learned nobody asks about the mass: in doubt, off
    return run.mass_doubt is not None or estimate is None or estimate.phase == "solid"


def _sudden(innovations: Innovations | None, sign: float) -> bool:
    """It has come within two minutes: what another mass makes of the reading comes over a quarter of an hour."""
    if innovations is None or innovations.mean_10_k is None or innovations.mean_120_k is None:
        return False
    return sign * (innovations.mean_10_k - innovations.mean_120_k) > SUDDEN_K


def _stepped(view: View, sign: float, step: float = STEP) -> bool:
    """Power went up or down by half and more within the last minutes, as when a boost ends.

    A reading is late with it: it does not run low in the half minute after heat has gone, only after it has come back.
    """
    if sign < 0.0 and _heat_came_back(view, step):
        return True
    history = view.history
    duties = [history.mean_duty(30, ago_s) for ago_s in (30, 60, 90, 120, 150)]
    if sign > 0.0:
        duties += [history.mean_duty(10), history.mean_duty(30)]
    known = [duty for duty in duties if duty is not None]
    return bool(known) and max(known) - min(known) > step


def _heat_came_back(view: View, step: float = STEP) -> bool:
    """Half of full power and more has come on within a minute: a model is early or late with it."""
    now, before = view.history.mean_duty(10), [view.history.mean_duty(10, ago_s) for ago_s in (10, 20, 30, 40, 50, 60)]
    return now is not None and any(duty is not None and now - duty > step for duty in before)


def fall_share(view: View, over_s: int = 10) -> float:
    """How fast the reading falls, over what an open lid makes at this temperature."""
    reading_c, rise_k = view.history.hot_c(), view.history.rise_c(over_s)
    if reading_c is None or rise_k is None:
        return 0.0
    possible_k = view.furnace.response.fastest_fall_c_per_s * over_s * ((reading_c + 273.15) / _HOTTEST_K) ** 4
    return -rise_k / possible_k


def slips(view: View) -> str:
    """It falls faster than under an open lid, and below what is expected of it, in words; empty: it does not."""
    innovations = view.innovations
    if innovations is None or frozen(view) or fall_share(view, SLIP_S) <= 1.0:
        return ""
    mean_k, breaks_k = innovations.mean_3_k, innovations.breaks_k
    if (mean_k is None or mean_k > -SLIP_K) and (breaks_k is None or breaks_k > -BREAKS_K):
        return ""
    return f"the reading falls by {-(view.history.rise_c(SLIP_S) or 0.0):.1f} K in {SLIP_S} s, faster than any lid"


def breaks_off(view: View) -> str:
    """It has suddenly fallen away lately, and is low by now, in words; empty: it has not. No other mass does both."""
    innovations = view.innovations
    if innovations is None or innovations.broke_k > -BREAKS_K or innovations.mean_10_k is None:
        return ""
    if innovations.mean_10_k > -BROKEN_K or frozen(view) or _stepped(view, -1.0) or _late(view, -1.0):
        return ""
    return f"the reading has suddenly run off, by {innovations.mean_10_k:+.1f} K each second over 10 s"


def looks_like_a_lid(view: View) -> bool:
    """It falls as under an open lid, and there is too little heat for its absence to make it fall so."""
    reading_c, duty, before = view.history.hot_c(), view.history.mean_duty(60), view.history.mean_duty(60, 30)
    if reading_c is None or duty is None or before is None or reading_c < LID_ABOVE_C:
        return False
    if max(duty, before) > LITTLE_DUTY:  # before: heat may have been kept back since
        return False
    if view.furnace.pulses_per_kwh is not None and view.firing.power.overdue > NONE_CAME:
        return False
    return LID_SHARE <= fall_share(view) <= SLIP_SHARE


@dataclass(frozen=True, slots=True)
class WarmerThanPower:
    """The reading climbs away from what the ordered power explains: heat comes that nobody ordered."""

    id: str = "warmer-than-power"
    reaction: Reaction = TRIP
    needs: tuple[int, int] = (2, 2)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """The innovations upwards."""
        said = runs_off(view, 1.0)
        return Finding(self.id, self.reaction, said) if said else None


@dataclass(frozen=True, slots=True)
class ColderThanPower:
    """The reading falls away from what the ordered power explains: no heat arrives, or the sensor leaves its place.

    Which of the two it is nobody can tell from a slow fall, nor from an open lid while much heat is ordered: all end
    the firing. One that falls faster than any open lid makes it fall is the sensor, and trips.
    """

    id: str = "colder-than-power"
    reaction: Reaction = CONTROLLED_STOP
    needs: tuple[int, int] = (3, 3)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """The innovations downwards, and how fast the reading falls."""
        said = slips(view)
        if said:
            return Finding(self.id, self.reaction | TRIP, said)
        said = runs_off(view, -1.0) or breaks_off(view)
        if not said or looks_like_a_lid(view):
            return None
        trips = fall_share(view) > SLIP_SHARE
        return Finding(self.id, self.reaction | TRIP if trips else self.reaction, said)


@dataclass(frozen=True, slots=True)
class BreaksAway:
    """The reading suddenly falls away from what is expected of it: no heat until it is known what that is.

    Nothing healthy does it but a lid that is seen. One that is not, and a sensor on its way out, do it within seconds:
    long before either can be told from the other. It is no alarm: where nothing follows, heat is back after a quarter
    minute. For longer it may not be kept back: heat that does not arrive shows by heat that is ordered.
    """

    id: str = "breaks-away"
    reaction: Reaction = NO_HEAT
    needs: tuple[int, int] = (1, BREAKS_FOR_S)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """The innovations of two seconds against those before."""
        breaks_k = None if view.innovations is None else view.innovations.breaks_k
        if breaks_k is None or breaks_k > -BREAKS_K or frozen(view) or _heat_came_back(view):
            return None
        return Finding(self.id, self.reaction, f"the reading has fallen by {-breaks_k:.1f} K more than its own in 8 s")


@dataclass(frozen=True, slots=True)
class LidUnseen:
    """It loses heat as if the lid were open, and the switch says shut: hands may be inside, so no heat at all.

    By now it has been open for longer than an open lid that is seen may be with the contactor in.
    """

    id: str = "lid-unseen"
    reaction: Reaction = HOLD_WITHOUT_HEAT | Reaction(drop_contactor=True, leave=Leave.BY_A_PRESS)
    needs: tuple[int, int] = (3, 3)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """The innovations downwards, and a fall like that under an open lid."""
        said = runs_off(view, -1.0) or breaks_off(view)
        return Finding(self.id, self.reaction, said) if said and looks_like_a_lid(view) else None


@dataclass(frozen=True, slots=True)
class OverSetpoint:
    """The reading has climbed well above a setpoint that was not lowered: the loop has lost it, or heat comes unasked.

    A healthy furnace overshoots by 15 K at most (simulated, with lids and additions).
    """

    over_k: float = 20.0
    near_k: float = 5.0
    quiet_s: int = 900
    step_s: int = 60
    id: str = "over-setpoint"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (15, 15)
    states: frozenset[State] = HEATED
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """Reading over a setpoint that it was at in the last quarter hour, and that has not come down since."""
        setpoint_c, reading_c = view.firing.setpoint_c, view.reading_c
        if setpoint_c is None or reading_c is None or reading_c <= setpoint_c + self.over_k or not view.lid_calm:
            return None
        for ago_s in range(0, self.quiet_s + 1, self.step_s):
            then_c, was_c = view.history.setpoint_c(ago_s), view.history.hot_c(ago_s)
            if then_c is not None and then_c > setpoint_c + 1.0:
                return None
            if was_c is not None and was_c <= setpoint_c + self.near_k:
                return Finding(self.id, self.reaction, f"{reading_c - setpoint_c:.0f} K above the setpoint")
        return None


BY_INNOVATION = frozenset({"warmer-than-power", "colder-than-power", "lid-unseen"})
"""Once one of these stands, the stiff filter learns no more of the furnace in this firing."""
