"""Once a second: what the firing is told by the model, and what of it is remembered."""

from math import inf

from supervisor.firing.adviser import Adviser
from supervisor.firing.boosting import arm_again, end
from supervisor.firing.firing import MassDoubt, Run
from supervisor.firing.forecasts import LIGHTER
from supervisor.firing.gate import ASKS_WITHIN_K
from supervisor.firing.governor import RULE, highest_c
from supervisor.firing.profile import Profile, Ramp, top_hold_c
from supervisor.firing.setpoint import ahead_to
from supervisor.firing.states import HEATED, State
from supervisor.firing.turn import Turn
from supervisor.furnace.reckoning import metal_wh
from supervisor.logbook.records import EstimateRow
from supervisor.metal.charge import Charge
from supervisor.model.countdown import Course
from supervisor.watches import DOUBTS_THE_SENSOR
from supervisor.watches.model import BY_INNOVATION

TOLD_EVERY_S = 60.0
POUR_BELOW_TARGET_K = 20.0
LOOKS_IN_A_ROW = 3
SOLID_SHARE = 0.05
MASS_OFF_K = 30.0
"""The reading against the model's for the entered mass: further off is asked about."""
LIKE_ANOTHER = 0.9
"""Of the way to half or double the mass: so far off a warm furnace must be as well."""
LEAST_APART_K = 15.0
"""Half or double the mass must show at least so much by the model before the reading is asked about the mass at all."""

LID_FORGOTTEN_S = 600.0
"""What an opening takes from a furnace is learned of few: so long after one a low reading says nothing of the mass."""

LIKE_SHARES = (0.5, 0.7, 1.4, 2.0)
"""Of the entered mass: what the model reckons at all."""


def advise(turn: Turn, reading_c: float | None, on_share: float) -> None:
    """One second: the estimator goes on with what the furnace was given, and says what it makes of it.

    reading_c: mean of the second's good readings. on_share: how much of the second the relay was on.
    """
    firing, adviser = turn.firing, turn.firing.adviser
    run = firing.run
    if run is None:
        return
    per_kwh, looks_only = turn.furnace.pulses_per_kwh, turn.furnace.looks_only
    if looks_only and per_kwh is None:
        return  # what another regulator gives is not known
    knew = adviser.doubt
    if firing.state in HEATED and not run.followed and reading_c is not None:
        run.followed = True
        adviser.begin(reading_c, run.profile.charge, drained=firing.drained)
    if not run.followed:
        return
    if firing.state not in HEATED:
        adviser.follow.end()  # no watch holds the reading against the power any more
    for act in run.acts:
        adviser.act(*act)
    run.acts.clear()
    active = [name for name, standing in turn.alarms.standing.items() if standing.active]
    if not DOUBTS_THE_SENSOR.isdisjoint(active):
        adviser.act("freeze")
    if not BY_INNOVATION.isdisjoint(active):
        adviser.follow.act("freeze", 0.0)
    if looks_only and per_kwh is not None:
        power_w = firing.power.metered_w(per_kwh)
    else:
        adviser.meter.see(run.ordered_wh, firing.power.fair)  # a relay that leaks says nothing of the mains
        power_w = on_share * turn.furnace.full_power_w * adviser.meter.ratio(per_kwh)
    gone_on = adviser.second(reading_c, power_w, 1.0, lid_open=turn.lid_open, over=run.closed)
    liquid = adviser.estimate is not None and adviser.estimate.phase == "liquid"
    adviser.follow.liquid_s = adviser.follow.liquid_s + 1 if liquid else 0
    if gone_on and not run.closed and reading_c is not None and not looks_only:
        _look_at_mass(turn, run, adviser, reading_c)
    if gone_on and not run.closed:
        _minutes(turn, run, adviser)
        if turn.now_s >= run.told_s + TOLD_EVERY_S:
            run.told_s = turn.now_s
            turn.records.append(_row(turn, run, adviser))
    if adviser.doubt != knew and adviser.doubt:
        turn.event("estimate", {"doubt": adviser.doubt})


def pour_c(profile: Profile) -> float:
    """The coldest metal that this profile pours, or 20 K under its target where it does not say."""
    return top_hold_c(profile) - POUR_BELOW_TARGET_K if profile.pour_c is None else profile.pour_c


def boost_cap_c(turn: Turn, run: Run) -> float:
    """How hot a boost could make the chamber; without one, the metal's target."""
    target_c, furnace = top_hold_c(run.profile) - run.lowered_k, turn.furnace
    if turn.firing.adviser.no_boost:
        return target_c
    return max(
        target_c, highest_c(target_c, min(run.profile.top_c, furnace.top_c), furnace.limiter_c, warm=run.charged_warm)
    )


def _minutes(turn: Turn, run: Run, adviser: Adviser) -> None:
    nobody_knows = turn.furnace.looks_only or run.mass_doubt is not None  # another regulator's plan, or what is in it
    if turn.firing.state is not State.RUNNING or run.profile.charge is None or nobody_knows or run.poured:
        adviser.no_minutes()
        return
    target_c, boost, estimate = top_hold_c(run.profile) - run.lowered_k, run.boost, adviser.estimate
    boosts = not boost.ended or run.arming_s is not None
    left_wh = inf
    if boost.forecast_wh is not None and run.arming_s is None:
        left_wh = RULE.energy_factor * boost.forecast_wh - run.energy_wh
    course = Course(
        power_w=turn.furnace.full_power_w * adviser.meter.ratio(turn.furnace.pulses_per_kwh) * turn.duty_ceiling,
        target_c=target_c,
        cap_c=boost_cap_c(turn, run) if boosts else target_c,
        gain=RULE.gain,
        near_k=RULE.near_target_k,
        margin_k=0.0 if estimate is None else estimate.upper_c - estimate.metal_c,
        boost_wh=left_wh,
        plan=_plan(run),
    )
    gate_c = run.gate.limit_c - ASKS_WITHIN_K if run.gate.limit_c is not None and run.gate.shut else None
    adviser.look_ahead(pour_c(run.profile), course, turn.now_s, gate_c)
    if run.arming_s is not None and adviser.minutes is not None and adviser.minutes_from_s >= run.arming_s:
        _arm_again(turn, run, adviser.minutes.likely)


def _plan(run: Run) -> tuple[tuple[float, float], ...]:
    """The profile's own way to the metal's target; empty where only the furnace limits it, or it is there."""
    walk = run.walk
    segment = None if walk.done else walk.profile.segments[walk.segment]
    top_c = top_hold_c(run.profile)
    on_the_way = segment.fastest is False if isinstance(segment, Ramp) else not walk.done and walk.target_c < top_c
    return tuple((at_s, at_c - run.lowered_k) for at_s, at_c in ahead_to(walk, top_c)) if on_the_way else ()


def _arm_again(turn: Turn, run: Run, minutes: float) -> None:
    """Metal with its mass was put in and a press gave heat back: what ended the boost was of the charge before."""
    run.arming_s = None
    boost, adviser = run.boost, turn.firing.adviser
    if not boost.added or boost.barred or run.mass_doubt is not None:
        return
    target_c = top_hold_c(run.profile)
    added_wh = metal_wh(Charge(LIGHTER * run.added_kg, "unknown", "addition", None, None), target_c)
    holding_wh = adviser.settled_duty(target_c) * turn.furnace.full_power_w * minutes / 60.0
    arm_again(boost, run.energy_wh, (turn.now_s - run.began_s) / 60.0, added_wh + holding_wh, minutes)
    run.added_kg = 0.0
    turn.event("boost", {"armed again": True, "minutes": minutes})


def _look_at_mass(turn: Turn, run: Run, adviser: Adviser, reading_c: float) -> None:
    """While all is solid: is the reading what the entered mass should give? Half of it must be told before a boost."""
    if run.mass_doubt is not None or run.mass_confirmed or adviser.no_boost or run.gate.limit_c is None:
        return
    if adviser.estimate is None or adviser.estimate.share_high > SOLID_SHARE:
        return
    expected_c, half_c = adviser.expected_c(run.charge_kg), adviser.expected_c(run.charge_kg / 2.0)
    if expected_c is None or half_c is None:
        return
    double_c = adviser.expected_c(2.0 * run.charge_kg)
    above_k, below_k = half_c - expected_c, 0.0 if double_c is None else expected_c - double_c
    run.mass_checked = run.mass_checked or above_k > MASS_OFF_K
    fewer = reading_c > expected_c
    if not fewer and (run.charged_warm or _lid_tells(turn)):
        run.mass_off = 0
        return
    apart_k = above_k if fewer else below_k
    if not apart_k >= LEAST_APART_K:  # so early, or so late, the mass is not what the reading shows
        run.mass_off = 0
        return
    most_k = MASS_OFF_K
    if run.charged_warm:  # how far a warm lining is warmed through is not known: it must be like another mass too
        most_k = max(MASS_OFF_K, LIKE_ANOTHER * apart_k)
    run.mass_off = run.mass_off + 1 if abs(reading_c - expected_c) > most_k else 0
    if run.mass_off < LOOKS_IN_A_ROW:
        return
    off_k, minutes = reading_c - expected_c, (turn.now_s - run.began_s) / 60.0
    where = f"{abs(off_k):.0f} K {'above' if off_k > 0.0 else 'below'}"
    evidence = f"The reading is {where} what {run.charge_kg:.2f} kg should give, {minutes:.0f} min after the start."
    run.mass_doubt = MassDoubt(run.charge_kg, _like_kg(run.charge_kg, reading_c, adviser), evidence)
    adviser.no_minutes()
    end(run.boost, "the charge's mass was doubted")
    turn.event("mass doubted", {"evidence": evidence, "entered_kg": run.charge_kg, "like_kg": run.mass_doubt.like_kg})


def _lid_tells(turn: Turn) -> bool:
    """The reading is low because the lid was open."""
    lid = turn.firing.lid
    return turn.lid_open or (lid.last_shut_s is not None and turn.now_s - lid.last_shut_s < LID_FORGOTTEN_S)


def _like_kg(entered_kg: float, reading_c: float, adviser: Adviser) -> float | None:
    """The mass that fits best of a few: heat tells no more than half or double."""
    best_kg, best_k = None, MASS_OFF_K
    for share in LIKE_SHARES:
        expected_c = adviser.expected_c(share * entered_kg)
        if expected_c is not None and abs(reading_c - expected_c) < best_k:
            best_kg, best_k = share * entered_kg, abs(reading_c - expected_c)
    return best_kg


def _row(turn: Turn, run: Run, adviser: Adviser) -> EstimateRow:
    estimate, minutes, boost = adviser.estimate, adviser.minutes_left(turn.now_s), run.boost
    doubt = adviser.doubt or ("" if estimate is None else estimate.doubt) or _mass_doubt(run)
    known = estimate if not doubt else None
    return EstimateRow(
        run.firing_id,
        turn.t_ms(run),
        None if known is None else known.phase,
        None if known is None else round(known.metal_c, 1),
        None if known is None else round(known.low_c, 1),
        None if known is None else round(known.high_c, 1),
        None if known is None else round(known.share_low, 3),
        None if known is None else round(known.share_molten, 3),
        None if known is None else round(known.share_high, 3),
        None if minutes is None else round(minutes.low, 1),
        None if minutes is None else round(minutes.likely, 1),
        None if minutes is None else round(minutes.high, 1),
        boost.on,
        boost.why_off,
        turn.firing.setpoint_c,
        doubt,
    )


def _mass_doubt(run: Run) -> str:
    return "" if run.mass_doubt is None else run.mass_doubt.evidence
