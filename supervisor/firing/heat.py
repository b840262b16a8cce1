"""How much heat this second: the setpoint goes on, the controller answers, every ceiling binds."""

from math import isfinite

from supervisor.firing.control import Controller, chamber_leads_by_s
from supervisor.firing.firing import Run
from supervisor.firing.profile import top_hold_c
from supervisor.firing.setpoint import advance
from supervisor.firing.states import HEATED, State
from supervisor.firing.turn import Turn

AT_TEMPERATURE_K = 10.0
SLOPE_S = 20
"""Seconds over which the reading's slope is taken."""


def regulate(turn: Turn, controller: Controller, reading_c: float | None, rise_k: float | None) -> None:
    """Once a second: setpoint and duty for the next one.

    reading_c: mean of this second's good readings, or None. rise_k: the reading's rise over the last SLOPE_S.
    """
    firing, run = turn.firing, turn.firing.run
    if firing.state not in HEATED or run is None:
        firing.duty = 0.0
        firing.setpoint_c = None
        controller.rest()
        return
    if reading_c is None:  # no heat without a reading; the setpoint waits
        firing.duty = 0.0
        return
    if firing.state is State.RUNNING and turn.now_s - firing.entered_s < 1.0:
        controller.rest()  # what a hold has wound up is not owed afterwards: heat comes back as in a fresh start
    ceiling_c = min(turn.reaction.setpoint_ceiling_c, run.gate.ceiling_c)
    before_c = firing.setpoint_c
    if firing.state is State.RUNNING:
        advance(run.walk, 1.0, reading_c + run.lowered_k, ceiling_c + run.lowered_k)
        wanted_c = run.walk.setpoint_c - run.lowered_k
    else:
        wanted_c = firing.hold_setpoint_c if firing.hold_setpoint_c is not None else reading_c
    firing.setpoint_c = min(wanted_c, ceiling_c)
    _note(run, reading_c, turn.now_s)
    if turn.duty_ceiling <= 0.0 or not firing.enable or firing.test is not None or not isfinite(wanted_c):
        firing.duty = 0.0
        controller.rest()
        return
    moved = 0.0 if before_c is None or firing.state is not State.RUNNING else firing.setpoint_c - before_c
    ramp = min(max(moved, -run.walk.rate_c_per_s), run.walk.rate_c_per_s)
    # A cold sheath is minutes late. Chamber and setpoint are both seen that much ahead, but never past the ramp's end:
    # the reading then comes up to a chamber that waits for it.
    lead_s = chamber_leads_by_s(reading_c)
    chamber_c = reading_c + lead_s * (rise_k or 0.0) / SLOPE_S
    ahead_c = firing.setpoint_c + lead_s * ramp
    end_c = run.walk.target_c - run.lowered_k
    aim_c = min(ahead_c, max(end_c, firing.setpoint_c)) if ramp > 0.0 else max(ahead_c, min(end_c, firing.setpoint_c))
    firing.duty = controller.duty(min(aim_c, ceiling_c), ramp, chamber_c, 1.0, turn.duty_ceiling)


def _note(run: Run, reading_c: float, now_s: float) -> None:
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
    run = turn.firing.run
    if run is None or run.closed:
        return
    if relay:
        run.ordered_wh += turn.furnace.full_power_w * dt_s / 3600.0
    if turn.furnace.pulses_per_kwh is not None:
        run.metered_wh = (turn.sample.energy_pulses - run.pulses_at_start) * 1000.0 / turn.furnace.pulses_per_kwh
    run.energy_wh = max(run.ordered_wh, run.metered_wh)
