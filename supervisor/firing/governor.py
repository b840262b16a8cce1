"""The governor: how hot the chamber may be made for a metal's target.

Holding the chamber at the metal's target wastes much of the time: what heats the metal is the difference, and it
vanishes just when the heat of fusion is due. A boost holds the chamber hotter while the metal is still cold. Pure: it
remembers nothing and reads nothing; `boosting` keeps what one firing must remember.
"""

from dataclasses import dataclass
from math import isfinite, isnan
from typing import NamedTuple


@dataclass(frozen=True, slots=True)
class BoostLimits:
    """What bounds a boost. The defaults are the rule (our choice); only the benchmark hands in others, to compare."""

    above_target_k: float = 60.0  # the cap, over the metal's target
    below_limiter_k: float = 50.0  # the cap, under the limiter's setting
    near_target_k: float = 25.0  # it ends when the estimate's upper edge is so near the target
    dip_near_k: float = 30.0  # and when a dip reading is so near
    energy_factor: float = 1.10  # of the forecast for 85 % of the entered mass
    minutes_factor: float = 1.10  # of the forecast minutes
    duty_share: float = 0.5  # of the duty in the arrest: the last solid has gone
    warm_above_target_k: float = 30.0  # the cap over the metal's target in a furnace that was warm at the start
    warm_duty_share: float = (
        0.6  # the same in a furnace that was warm at the start: half the mass is hard to tell there
    )
    gain: float = 5.0  # kelvin of chamber over the target for each that the metal is under it
    down_gain: float = 2.0  # kelvin of chamber under the target for each that the metal is likely over it
    below_target_k: float = 25.0  # so far, and no further, the chamber goes under the target for metal that is too hot
    wide_k: float = 40.0  # half width of the band in the liquid from which on the estimate moves nothing


RULE = BoostLimits()


class BoostFacts(NamedTuple):
    """Everything that a boost is judged on, in one second of a firing."""

    target_c: float  # of the metal: the profile's highest, less what a person lowered it by
    at_top: bool  # the segment in progress goes to that target, or stays there
    top_c: float  # what neither this profile nor this furnace may pass
    limiter_c: float
    no_model: str  # why nothing learned can be used; empty: at least three firings with this very equipment
    mass_kg: float | None  # entered, in all; None: a firing without metal
    capacity_kg: float
    mass_checked: bool  # half of it could have been told by the reading
    mass_doubted: bool
    charged_warm: bool  # cold metal went into a warm furnace
    drained: bool  # the pot was known to hold nothing when it was charged
    cut_short: bool  # an earlier firing had no proper end: a trip, the power, or the program
    lid_fitted: bool
    lid_moved: bool  # seen open and seen shut since this firing was prepared
    sensor_trusted: bool
    gate_answered: bool  # its own question, by a press that still counts
    held: bool
    finding: str  # a watch that stands with an advice or more; empty: none does
    likely_c: float | None  # of the metal; None: it does not know
    upper_c: float | None  # the upper 95 % edge of the metal's estimate; None: it does not know
    half_width_k: float  # of its 90 % band
    liquid: bool  # the estimate has all of it liquid
    energy_wh: float  # since the start
    forecast_wh: float | None  # to ready, for 85 % of the entered mass
    minutes: float  # since the start
    forecast_minutes: float | None  # to ready, for the entered mass
    duty: float | None  # mean of the last minutes with the chamber at the cap; None: it has not been there so long
    arrest_duty: float | None  # the highest such mean so far
    lid_opened: bool  # since the boost began
    dip_c: float | None  # the last dip reading


class Governed(NamedTuple):
    """The chamber's setpoint; boost: it may be above the metal's target. why: why there is none, or it has ended."""

    setpoint_c: float
    boost: bool
    why: str


def highest_c(
    target_c: float, top_c: float, limiter_c: float, limits: BoostLimits = RULE, *, warm: bool = False
) -> float:
    """The highest chamber setpoint in a boost, °C.

    top_c: what neither profile nor furnace may pass. warm: cold metal goes into a warm furnace, where half of it can
    hardly be told from all of it; the cap bounds what becomes of it.
    """
    above_k = min(limits.above_target_k, limits.warm_above_target_k) if warm else limits.above_target_k
    cap_c = min(target_c + above_k, limiter_c - limits.below_limiter_k, top_c)
    return target_c if isnan(target_c + top_c + limiter_c) else cap_c  # min() may lose what is no number


def cap_c(facts: BoostFacts, limits: BoostLimits = RULE) -> float:
    """The highest chamber setpoint of these facts, °C."""
    return highest_c(facts.target_c, facts.top_c, facts.limiter_c, limits, warm=facts.charged_warm)


def missing(facts: BoostFacts, limits: BoostLimits = RULE) -> list[str]:
    """Every condition of a boost that does not hold, in words; empty: there may be one."""
    mass_kg = facts.mass_kg
    conditions = (
        (not facts.no_model, facts.no_model or "nothing is learned of this furnace"),
        (mass_kg is not None, "no mass was entered"),
        (mass_kg is None or 0.0 < mass_kg <= facts.capacity_kg, "more metal than the crucible takes"),
        (facts.mass_checked, "the mass could not be checked yet"),
        (not facts.mass_doubted, "the charge's mass is doubted"),
        (facts.drained, "the pot is not known to have been empty"),
        (not facts.cut_short, "an earlier firing was cut short"),
        (facts.lid_fitted, "no lid switch is fitted"),
        (facts.lid_moved, "the lid switch has not been seen to move in this firing"),
        (facts.sensor_trusted, "the sensor is in doubt"),
        (facts.gate_answered, "the gate waits for a press at the furnace"),
        (not facts.held, "the firing is held"),
        (facts.upper_c is not None and isfinite(facts.upper_c), "the metal's temperature is not known"),
        (facts.forecast_wh is not None, "there is no forecast of its energy"),
        (facts.forecast_minutes is not None, "there is no forecast of its time"),
        (cap_c(facts, limits) > facts.target_c, "the top of profile, furnace or limiter leaves no room"),
    )
    return [words for holds, words in conditions if not holds]


def ends(facts: BoostFacts, limits: BoostLimits = RULE) -> str:
    """Why a boost ends for good in this charge; empty: it may go on. What is not known ends it."""
    near_c, dip_c = facts.target_c - limits.near_target_k, facts.target_c - limits.dip_near_k
    forecast_wh, forecast_minutes = facts.forecast_wh, facts.forecast_minutes
    duty, arrest_duty = facts.duty, facts.arrest_duty
    share = max(limits.duty_share, limits.warm_duty_share) if facts.charged_warm else limits.duty_share
    reasons = (
        (facts.held, "the firing was held"),
        (bool(facts.finding), f"a watch spoke: {facts.finding}"),
        (facts.lid_opened, "the lid was opened"),
        (facts.upper_c is None, "the metal's temperature is not known"),
        (not (facts.upper_c is None or facts.upper_c < near_c), "the metal may be near its target"),
        (not (facts.dip_c is None or facts.dip_c < dip_c), "the dip reading is near the target"),
        (
            not (forecast_wh is None or facts.energy_wh <= limits.energy_factor * forecast_wh),
            "it has had the energy that this charge needs",
        ),
        (
            not (forecast_minutes is None or facts.minutes <= limits.minutes_factor * forecast_minutes),
            "it has had the time that this charge needs",
        ),
        (
            not (duty is None or arrest_duty is None or duty > share * arrest_duty),
            "the chamber needs little heat any more: the last solid may have gone",
        ),
    )
    return next((words for over, words in reasons if over), "")


def govern(profile_c: float, facts: BoostFacts, ended: str, limits: BoostLimits = RULE) -> Governed:
    """The chamber's setpoint, given the profile's own.

    profile_c: what the profile asks for now, lowering reckoned in. ended: why the boost of this charge has ended, from
    an earlier second; empty: it has not. On the way to the target the profile is followed as it is; at the target the
    estimate moves the setpoint: in a boost its upper edge, up to the cap; else what is likely, down, once the metal is
    over its target. An estimate that is not there, or too wide once all is liquid, moves nothing.
    """
    target_c = facts.target_c
    if not facts.at_top or profile_c < target_c:
        return Governed(profile_c, False, ended)
    why = ended or ends(facts, limits) or ", ".join(missing(facts, limits))
    if facts.no_model or (facts.liquid and not facts.half_width_k <= limits.wide_k):
        return Governed(target_c, False, why or "the estimate is too wide")
    if why or facts.upper_c is None:
        over_k = 0.0 if facts.likely_c is None else facts.likely_c - target_c
        down_k = min(limits.down_gain * over_k, limits.below_target_k) if over_k > 0.0 else 0.0
        return Governed(target_c - down_k, False, why)
    wanted_c = target_c + limits.gain * (target_c - facts.upper_c)
    return Governed(min(max(wanted_c, target_c), cap_c(facts, limits)), True, "")
