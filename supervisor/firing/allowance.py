"""The energy that a firing may use: said when it is prepared, as soon as it is known."""

from supervisor.firing.profile import Profile, held_at_top_s, top_hold_c
from supervisor.firing.turn import Turn
from supervisor.furnace.reckoning import allowance_wh

LEARNED_ALLOWANCE = 1.10
BEYOND_ALLOWANCE = 1.3
"""Of the settled duty at the target: what is left when the energy allowance is used up."""


def see(turn: Turn) -> None:
    """Say what is allowed to what is prepared: by the data sheets at once, as learned when the forecast is there."""
    firing = turn.firing
    if firing.prepared is None or firing.prepared_allowance_wh is not None:
        return
    if firing.adviser.no_boost or firing.adviser.reckoned:
        firing.prepared_allowance_wh = round(_allowance_wh(turn, firing.prepared.profile), 1)


def _allowance_wh(turn: Turn, profile: Profile) -> float:
    """A tenth more than the learned furnace needs to get there; while nothing is learned, by the data sheets."""
    adviser, by_data_sheets_wh = turn.firing.adviser, allowance_wh(turn.furnace, profile)
    need_kwh = adviser.need_kwh
    if adviser.forecast is None or need_kwh is None or adviser.no_boost:
        return by_data_sheets_wh
    to_ready_wh = LEARNED_ALLOWANCE * 1000.0 * need_kwh
    if adviser.forecast.minutes is None:  # it is forecast to the plan's end
        return min(to_ready_wh, by_data_sheets_wh)
    at_c = top_hold_c(profile)
    holding_w = BEYOND_ALLOWANCE * adviser.settled_duty(at_c) * turn.furnace.full_power_w
    return min(to_ready_wh + holding_w * held_at_top_s(profile) / 3600.0, by_data_sheets_wh)
