"""How much heat this second: the setpoint goes on, the controller answers, every ceiling binds."""

from math import isfinite

from hardware.ports import Level
from supervisor.alarms.texts import TEXTS
from supervisor.firing.boosting import DUTY_OVER_S, at_cap, see
from supervisor.firing.control import Aim, Controller, slope_over_s
from supervisor.firing.drying import left
from supervisor.firing.drying import see as see_drying
from supervisor.firing.firing import Run
from supervisor.firing.governor import BoostFacts, BoostLimits
from supervisor.firing.profile import top_hold_c
from supervisor.firing.setpoint import advance
from supervisor.firing.states import HEATED, State
from supervisor.firing.turn import Turn
from supervisor.furnace.reckoning import open_lid_w
from supervisor.watches.history import History

AT_TEMPERATURE_K = 10.0
BEHIND_K = 10.0
LID_FACTOR = 1.1


def regulate(
    turn: Turn, controller: Controller, reading_c: float | None, history: History, limits: BoostLimits
) -> None:
    """Once a second: setpoint and duty for the next one.

    reading_c: mean of this second's good readings, or None.
    """
    firing, run = turn.firing, turn.firing.run
    if turn.furnace.looks_only:
        if run is not None and reading_c is not None and not run.closed:
            reached(run, reading_c, turn.now_s)
        return
    if run is not None and controller.firing_id != run.firing_id:
        controller.begin(run.firing_id, turn.furnace, firing.adviser.model)
    if firing.state not in HEATED or run is None:
        firing.duty = 0.0
        firing.setpoint_c = None
        controller.rest(reading_c)
        return
    if reading_c is None:  # no heat without a reading; the setpoint waits
        firing.duty = 0.0
        return
    if firing.state is State.RUNNING and turn.now_s - firing.entered_s < 1.0:
        controller.rest()  # what a hold has wound up is not owed afterwards: heat comes back as in a fresh start
    ceiling_c = min(turn.reaction.setpoint_ceiling_c, run.gate.ceiling_c, run.caps.top_c)
    before_c = firing.setpoint_c
    if firing.state is State.RUNNING:
        dry = run.profile.dries and _dries(turn, run, reading_c, controller)
        wanted_c = _governed(turn, run, reading_c, ceiling_c, history, limits, dry=dry)
    else:
        wanted_c = firing.hold_setpoint_c if firing.hold_setpoint_c is not None else reading_c
    firing.setpoint_c = min(wanted_c, ceiling_c)
    reached(run, reading_c, turn.now_s)
    if turn.duty_ceiling <= 0.0 or not firing.enable or firing.test is not None or not isfinite(wanted_c):
        firing.duty = 0.0
        controller.rest(reading_c)
        return
    moved = 0.0 if before_c is None or firing.state is not State.RUNNING else firing.setpoint_c - before_c
    end_c = min(run.walk.target_c - run.lowered_k + run.boost.moved_k, ceiling_c)
    waits = firing.state is State.RUNNING and run.walk.waits_for == "the reading" and firing.setpoint_c < end_c
    if waits and reading_c < firing.setpoint_c - BEHIND_K:
        moved = run.walk.climbs_c_per_s  # a ramp that waits for the reading still wants its heat
    ramp = min(max(moved, -run.walk.rate_c_per_s), run.walk.rate_c_per_s)
    aim = Aim(firing.setpoint_c, ramp, end_c)
    over_s = slope_over_s(reading_c)
    slope_c_per_s = (history.rise_c(over_s) or 0.0) / over_s
    firing.duty = controller.duty(aim, reading_c, slope_c_per_s, 1.0, turn.duty_ceiling)
    count_bound(turn, run)


def count_bound(turn: Turn, run: Run) -> None:
    """For how long the spent allowance has kept heat back. Once that was said it stays said, until a tenth is added."""
    spent = run.energy_wh > run.allowed_wh
    if spent and turn.firing.duty >= run.beyond_duty:
        run.bound_s += 1
        return
    said = turn.alarms.standing.get("energy-allowance")
    if not spent or said is None or not said.stands:
        run.bound_s = 0


def _dries(turn: Turn, run: Run, reading_c: float, controller: Controller) -> bool:
    """Whether the power that this hold needs says that it may end. Seconds without heat say nothing."""
    at_c, drying = run.walk.target_c, run.drying
    if turn.duty_ceiling < 1.0 or not turn.firing.enable or turn.firing.test is not None:
        return drying.dry
    return see_drying(drying, run.walk, reading_c, turn.firing.duty, controller.expected.duty(at_c, 0.0), 1.0)


def _governed(
    turn: Turn, run: Run, reading_c: float, ceiling_c: float, history: History, limits: BoostLimits, *, dry: bool
) -> float:
    """Let the profile go on and the governor move the chamber from it; the chamber's setpoint."""
    walk, boost = run.walk, run.boost
    # The profile's clock sees the reading against the chamber's own setpoint: a hold waits for the metal.
    seen_c = reading_c + run.lowered_k - boost.moved_k
    at_c = walk.target_c
    advance(walk, 1.0, seen_c, ceiling_c + run.lowered_k, for_metal=boost.on, dry=dry)
    if run.profile.dries and (dried := left(run.drying, walk, at_c)) is not None:
        turn.event("dried", dried._asdict())
    profile_c = walk.setpoint_c - run.lowered_k
    at_cap(boost, reading_c, history.mean_duty(DUTY_OVER_S))
    facts = _facts(turn, run)
    was_on, had_ended, had_begun = boost.on, boost.ended, boost.began
    governed = see(boost, profile_c, facts, limits, walk.rate_c_per_s)
    if boost.began and not had_begun:
        boost.openings = run.lid_openings
    if boost.on != was_on or boost.ended != had_ended:
        turn.firing.change()
        turn.events_that_heat = turn.events_that_heat or boost.on
        turn.event("boost", {"on": boost.on, "why": boost.why_off, "cap_c": boost.cap_c})
    return governed.setpoint_c


def _facts(turn: Turn, run: Run) -> BoostFacts:
    firing, furnace, boost, charge = turn.firing, turn.furnace, run.boost, run.profile.charge
    estimate = firing.adviser.estimate
    known_but_for_mass = estimate is not None and not estimate.doubt and run.mass_confirmed
    known = estimate is not None and not estimate.doubt and run.mass_doubt is None
    spoke = [name for name, standing in turn.alarms.standing.items() if standing.active and TEXTS[name].priority]
    if run.energy_wh > run.allowed_wh:
        spoke.append("energy-allowance")  # it binds before it speaks
    return BoostFacts(
        target_c=top_hold_c(run.profile) - run.lowered_k,
        at_top=run.walk.target_c == top_hold_c(run.profile),
        top_c=min(run.profile.top_c, furnace.top_c),
        limiter_c=furnace.limiter_c,
        no_model=firing.adviser.no_boost,
        mass_kg=None if charge is None else run.charge_kg,
        capacity_kg=furnace.crucible.capacity_kg,
        mass_checked=run.mass_checked,
        mass_doubted=run.mass_doubt is not None,
        charged_warm=run.charged_warm,
        drained=firing.drained,
        cut_short=firing.cut_short,
        lid_fitted=turn.sample.inputs.lid is not Level.NOT_FITTED,
        lid_moved=firing.lid_seen_moving,
        sensor_trusted=firing.cold_checked,
        gate_answered=run.gate.limit_c is not None and not run.gate.shut,
        held=firing.state is not State.RUNNING,
        finding=", ".join(spoke),
        # A mass that a person confirms leaves no boost, but metal that is over its target still takes the chamber down.
        likely_c=estimate.metal_c if estimate is not None and (known or known_but_for_mass) else None,
        upper_c=estimate.upper_c if estimate is not None and known else None,
        half_width_k=0.0 if estimate is None else (estimate.high_c - estimate.low_c) / 2.0,
        liquid=estimate is not None and estimate.phase == "liquid",
        energy_wh=run.energy_wh,
        forecast_wh=boost.forecast_wh,
        minutes=(turn.now_s - run.began_s) / 60.0,
        forecast_minutes=boost.forecast_minutes,
        duty=boost.duty,
        arrest_duty=boost.arrest_duty,
        lid_opened=boost.began and run.lid_openings > boost.openings,
        dip_c=boost.dip_c,
    )


def reached(run: Run, reading_c: float, now_s: float) -> None:
    """Keep what this second's reading reached, for the closing record and for the watches."""
    target_c = top_hold_c(run.profile)
    run.peak_c = max(run.peak_c, reading_c)
    run.overshoot_c = max(run.overshoot_c, reading_c - target_c)
    if reading_c > 660.3:  # pure aluminium melts here (ITS-90)
        run.above_660_s += 1.0
    if reading_c < target_c - AT_TEMPERATURE_K:
        run.at_target_since_s = None
    elif run.at_target_since_s is None:
        run.at_target_since_s = now_s


def use_energy(turn: Turn, *, relay: bool, dt_s: float) -> None:
    """Count what was ordered since the last cycle, and what the meter says; the larger one counts."""
    firing, run = turn.firing, turn.firing.run
    if run is None or run.closed:
        return
    _count_operations(run, relay=relay, contactor_in=turn.sample.inputs.mirror is Level.OPEN)
    if relay:
        run.ordered_wh += turn.furnace.full_power_w * dt_s / 3600.0
    if turn.furnace.pulses_per_kwh is not None:
        run.metered_wh = (turn.sample.energy_pulses - run.pulses_at_start) * 1000.0 / turn.furnace.pulses_per_kwh
    trusted = turn.firing.power.trusted(turn.now_s)
    run.energy_wh = max(run.ordered_wh, run.metered_wh if trusted else 0.0)
    last_c = turn.belief.last_c
    if last_c is None:
        return
    run.was_ready = run.was_ready or last_c >= top_hold_c(run.profile) - run.lowered_k - AT_TEMPERATURE_K
    if run.energy_wh > run.allowed_wh:
        return  # a spent allowance grows by a press alone
    if turn.lid_open:
        run.allowance_wh += LID_FACTOR * open_lid_w(turn.furnace, last_c) * dt_s / 3600.0  # it must be heated back
    elif turn.second and _waits(turn, run):
        kept = min(firing.duty, firing.adviser.settled_duty(last_c))
        run.allowance_wh += kept * turn.furnace.full_power_w / 3600.0


def _count_operations(run: Run, *, relay: bool, contactor_in: bool) -> None:
    """Switchgear wears by operations: each time it goes in is one."""
    run.relay_operations += relay and not run.relay_was
    run.contactor_operations += contactor_in and not run.contactor_was
    run.relay_was, run.contactor_was = relay, contactor_in


def _waits(turn: Turn, run: Run) -> bool:
    """Somebody holds it, or the gate does, on the way to the target: the forecast knew nothing of that.

    What keeps the chamber where it is meanwhile is allowed for, by the model or the data sheets and no more: what a
    creeping sensor draws beyond that still spends the allowance. At the target nothing is added: there the ceiling
    alone holds it.
    """
    if run.was_ready:
        return False
    held = turn.firing.state in (State.HOLDING, State.HELD)
    return held or (run.gate.shut and run.walk.setpoint_c - run.lowered_k >= run.gate.ceiling_c)
