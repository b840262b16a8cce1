"""How far the reading is from what furnace and power explain, and what that looks like.

`Innovations` are reckoned once a second by the stiff filter. Limits are 1.1 times the worst of healthy firings and
more; docs/watches.md says of which, and what is not judged when.
"""

from collections.abc import Sequence
from math import inf

from supervisor.watches.view import Innovations, View

LIMITS_K = (2.5, 2.2, 2.0)
"""Of the means over 10, 30 and 120 s: healthy ones stayed within 1.8, 1.6 and 1.1 K, one that was heated as fast as it
goes within 1.6 K over 120 s (simulated)."""

UNLEARNED_LIMITS_K = (1.9, 1.75, 1.75)
"""The same with nothing learned, where wide factors fit themselves as the firing goes, to a fault as well: healthy
ones stayed within 1.5, 1.4 and 1.1 K, with half as much metal as entered or half more within 1.6, 1.6 and 1.4 K
(simulated, steps of power included). Just after such a step the limits above hold."""

UNLEARNED_FALLS_K, UNLEARNED_RISES_K, UNLEARNED_STEPPED_K = 1.0, 1.3, 1.6
"""The mean over 10 s, and that beyond the one over 120 s, with nothing learned; the last upwards after a step of power:
healthy ones came to 0.5 K downwards and 1.0 K upwards (simulated, 91 h). Downwards nothing is said after such a step:
one of another make came to 1.0 K as full power came back after a hold, and was ended. Nor over metal that melts or is
liquid: a piece that hung up and falls in late came to 1.6 K (simulated)."""

AFTER_A_STEP_K = (4.0, 3.2, 3.2)
"""The same within three minutes of a step of power: when a boost of a learned furnace ended, healthy ones came
to 3.3, 2.5 and 0.8 K, one of another make to 5.9, 5.5 and 2.6 K while its reading fell. A relay that did not let go
then came to 6.3 K within 20 s and 11 K within 30 s, and its reading went on rising (simulated)."""

SETTLES_S = 480
"""The same on a learned furnace while its metal melts, and so long after all of it was called liquid, where the reading
does not fall as under an open lid: when a melt begins and ends is what a model knows worst. One of another make came to
2.7, 2.5 and 2.6 K at the end, a bench furnace to 2.6 K over 10 s as metal began to melt; later they stayed within 1.7,
1.5 and 1.2 K (simulated)."""

STILL = 0.5
"""Of a limit, that the last ten seconds must have as well: 3.4 K over 120 s still stood half a minute after a boost had
ended, on a furnace of another make whose reading was late with it, and tripped it as it came back (simulated)."""

AFTER_A_LID_S = 600.0
"""Upwards the same as well, so long after a lid was shut: three minutes after one a furnace of another make, whose
filter had not been told what the lid took, came to 2.6 K over 10 s at a quiet hold (simulated)."""

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
somebody presses that it is as entered all the same, nothing is held against the model until all has been liquid for ten
minutes. Downwards also while metal melts, and where it has not long been liquid: with a tenth more or less of it
melting begins and ends sooner or later, and bench furnaces came to 3.7, 3.2 and 2.5 K so (simulated, 400 h). Missing
heat is sudden as well, see BREAKS_K."""

SUDDEN_K = 1.2
"""The mean over 10 s beyond that over 120 s. With half or twice the entered mass it stayed within 0.4 K; under a lid
opened at full power it was 2.2 K after half a minute (simulated)."""

SAME_S = 6  # seconds with one raw word: one that froze while metal melted at full power was low enough after 8 s
_WINDOWS_S = (10, 30, 120)

SLIP_SHARE = 0.75
LID_SHARE = 0.25
"""The reading's fall over what an open lid makes at this temperature: an open lid 0.26 to 0.5, no heat up to 0.6 and at
a hold 0.25, a sensor on its way out over 0.9 (simulated, five seconds after the limit was passed)."""

SLIP_K, SLIP_S = 2.5, 3
"""Of the mean over 3 s, downwards; healthy ones stayed within 1.9 K (simulated). With a fall faster than that of any
lid it is the sensor, whatever the mass is and however power has just been stepped."""

BREAKS_K, BROKEN_K, BROKEN_WARMED_K, BREAKS_FOR_S = 1.2, 1.3, 2.1, 15
"""Of two seconds, and of them against those shortly before; of ten seconds within 20 s of it, the other where a quarter
of full power has come on within a minute; and for how long heat is kept back. Healthy ones stayed within 1.0 K, where a
step of power is not long ago within 0.85 K (simulated, 17 h on three makes, with melts heated as fast as they go); as
a hold was left, or the governor let go of the chamber, two of another make came to 1.4 and 1.7 K (250 h)."""

LID_ABOVE_C = 450.0
"""Below, an open lid takes so little that its fall says nothing."""

LITTLE_DUTY, HEAT_TAKES, NONE_CAME = 0.35, 0.45, 2.5
"""Up to here missing heat seldom makes a reading fall as an open lid does. At 505 °C and a duty of 0.35 it did, by 0.27
of what the furnace file's fastest rise makes of the heat ordered; hotter, where it takes more, it is no lid's fall; an
open lid takes 0.5 at 530 °C and over 1 at 700 °C (simulated). Where a meter counts, so many pulses that ordered heat
owes say that it is missing all the same."""

UNPAID, FULL, FULL_S, SLOWS_TO, SLOWS_S = 20.0, 0.95, 60.0, 1.0 / 3.0, 30
"""Pulses that full power owes within a minute, and the rise of half a minute over the fastest within the two minutes
before: without heat it came down so far in a minute and a half (simulated, 80 °C). For the first minutes of a firing
and those after a lid, where nothing is held against the model yet; after a lid it must not rise at all."""

_HOTTEST_K = 273.15 + 830.0  # where the furnace file's fastest fall was taken


def beyond(innovations: Innovations | None, sign: float, limits_k: Sequence[float] = LIMITS_K) -> str:
    """The window whose mean is past its limit on that side, in words; empty: none is."""
    if innovations is None:
        return ""
    now_k = sign * (innovations.mean_10_k or 0.0)
    for mean_k, limit_k, window_s in zip(innovations[:3], limits_k, _WINDOWS_S, strict=True):
        if mean_k is not None and sign * mean_k > limit_k and now_k > STILL * limit_k:
            return f"the reading runs off by {mean_k:+.1f} K each second over {window_s} s, allowed {limit_k:.1f}"
    return ""


def runs_off(view: View, sign: float) -> str:
    """The same with the limits of this moment: wider just after a step of power, or while the mass is in doubt."""
    if view.innovations is not None and not view.innovations.learned:
        return _runs_off_unlearned(view, view.innovations, sign)
    if not beyond(view.innovations, sign) or frozen(view) or _late(view, sign):
        return ""
    melts = _melts(view, sign)
    if (sign < 0.0 and melts) or (_unweighed(view) and not _sudden(view.innovations, sign)):
        return beyond(view.innovations, sign, UNWEIGHED_K)
    wide = _stepped(view, sign) or melts or (sign > 0.0 and _shut_lately(view))
    return beyond(view.innovations, sign, AFTER_A_STEP_K if wide else LIMITS_K)


def _runs_off_unlearned(view: View, innovations: Innovations, sign: float) -> str:
    if frozen(view) or _late(view, sign):
        return ""
    estimate = view.firing.adviser.estimate
    may_fall_in = sign < 0.0 and estimate is not None and estimate.phase != "solid"
    wide = _stepped(view, sign) or may_fall_in or (sign > 0.0 and _shut_lately(view))
    said = beyond(innovations, sign, LIMITS_K if wide else UNLEARNED_LIMITS_K)
    now_k, before_k = innovations.mean_10_k, innovations.mean_120_k
    if said or now_k is None or before_k is None:
        return said
    if wide:
        sudden_k = UNLEARNED_STEPPED_K if sign > 0.0 else inf
    else:
        sudden_k = UNLEARNED_RISES_K if sign > 0.0 else UNLEARNED_FALLS_K
    if min(sign * now_k, sign * (now_k - before_k)) < sudden_k:
        return ""
    return f"the reading has run off by {now_k:+.1f} K each second over 10 s, {before_k:+.1f} K over two minutes"


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


def _melts(view: View, sign: float) -> bool:
    """A learned furnace's metal melts, or has not long been liquid, and nothing falls as under an open lid.

    A reading that falls because half power has just gone is no lid's.
    """
    run, adviser, innovations = view.firing.run, view.firing.adviser, view.innovations
    if run is None or run.profile.charge is None or innovations is None or not innovations.learned:
        return False
    if sign < 0.0 and fall_share(view) >= LID_SHARE and not _power_moved(view, -1.0, STEP):
        return False
    phase = "" if adviser.estimate is None else adviser.estimate.phase
    return phase == "melting" or (phase == "liquid" and adviser.follow.liquid_s < SETTLES_S)


def _shut_lately(view: View) -> bool:
    shut_s = view.firing.lid.last_shut_s
    return shut_s is not None and view.now_s - shut_s < AFTER_A_LID_S


def _sudden(innovations: Innovations | None, sign: float) -> bool:
    """It has come within two minutes: what another mass makes of the reading comes over a quarter of an hour."""
    if innovations is None or innovations.mean_10_k is None or innovations.mean_120_k is None:
        return False
    return sign * (innovations.mean_10_k - innovations.mean_120_k) > SUDDEN_K


def _stepped(view: View, sign: float, step: float = STEP) -> bool:
    """Power went up or down by half and more within the last minutes, as when a boost ends.

    A reading is late with it: it does not run low in the half minute after heat has gone, only after it has come back.
    """
    if sign < 0.0 and heat_came_back(view, step):
        return True
    history = view.history
    duties = [history.mean_duty(30, ago_s) for ago_s in (30, 60, 90, 120, 150)]
    if sign > 0.0:
        duties += [history.mean_duty(10), history.mean_duty(30)]
    known = [duty for duty in duties if duty is not None]
    return bool(known) and max(known) - min(known) > step


def heat_came_back(view: View, step: float = STEP) -> bool:
    """Half of full power and more has come on within a minute, if only for ten seconds: a model is early or late with
    it."""
    return _power_moved(view, 1.0, step)


def _power_moved(view: View, sign: float, step: float) -> bool:
    least = inf
    for ago_s in range(60, -1, -10):
        duty = view.history.mean_duty(10, ago_s)
        if duty is not None:
            if sign * duty - least > step:
                return True
            least = min(least, sign * duty)
    return False


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
    limit_k = BROKEN_WARMED_K if heat_came_back(view, SMALL_STEP) else BROKEN_K
    if innovations.mean_10_k > -limit_k or frozen(view) or _stepped(view, -1.0) or _late(view, -1.0):
        return ""
    if _melts(view, -1.0) and _power_moved(view, -1.0, STEP):  # more that still melts makes it fall so as a boost ends
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
    ordered_k = view.furnace.response.fastest_rise_c_per_s * max(duty, before) * MOVES_S
    if -(view.history.rise_c(MOVES_S) or 0.0) < HEAT_TAKES * ordered_k:
        return False
    return LID_SHARE <= fall_share(view) <= SLIP_SHARE


def unpaid(view: View) -> str:
    """Full power, of which the meter knows nothing, and the reading slows down, in words; empty: no such thing."""
    innovations, duty = view.innovations, view.history.mean_duty(60)
    if view.furnace.pulses_per_kwh is None or view.firing.power.overdue < UNPAID or duty is None or duty < FULL:
        return ""
    shut_s = view.firing.lid.last_shut_s
    if view.firing.lid.opened_s is not None or (shut_s is not None and view.now_s - shut_s < FULL_S):
        return ""
    if innovations is not None and innovations.mean_10_k is not None:
        return ""
    read_c = [view.history.hot_c(ago_s) for ago_s in range(0, 121 + SLOWS_S, 15)]
    steps = SLOWS_S // 15
    rises_k = [
        now - then for now, then in zip(read_c, read_c[steps:], strict=False) if now is not None and then is not None
    ]
    if len(rises_k) < 3 or rises_k[0] > (SLOWS_TO * max(rises_k) if view.lid_calm else 0.0):
        return ""
    return f"no meter pulse, and {rises_k[0]:+.1f} K in {SLOWS_S} s after {max(rises_k):+.1f} K"
