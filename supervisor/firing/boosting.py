"""The boost of one charge: what must be remembered of it from second to second. The judgement is the governor's."""

from dataclasses import dataclass

from supervisor.firing.governor import BoostFacts, BoostLimits, Governed, cap_c, ends, govern, missing

AT_CAP_K = 10.0
AT_CAP_FOR_S = 90
DOWN_C_PER_S, UP_C_PER_S = 6.0 / 60.0, 2.0 / 60.0
"""How fast the chamber goes under the metal's target for metal that may be too hot, and comes back (our choice)."""

DUTY_OVER_S = 60
"""Seconds over which the duty at the cap is averaged; the seconds before them are the way there."""


@dataclass(slots=True)
class Boost:
    """Changed by the functions below alone."""

    on: bool = False  # the chamber may be hotter than the metal's target
    began: bool = False  # every condition has been met once
    ended: str = ""  # why it has ended in this charge
    lacks: str = ""  # what it waits for, before it began
    cap_c: float | None = None
    moved_k: float = 0.0  # from the profile's setpoint to the chamber's
    forecast_wh: float | None = None  # since the start: to ready, for 85 % of the entered mass
    forecast_minutes: float | None = None
    openings: int = 0  # of the lid, when it began
    dip_c: float | None = None  # the last dip reading
    at_cap_s: int = 0
    duty: float | None = None
    arrest_duty: float | None = None
    added: bool = (
        False  # metal with its mass was put in since it was armed: the press that gives heat back arms it again
    )
    barred: bool = False  # a watch ended it: not in this firing any more

    @property
    def why_off(self) -> str:
        """Why there is none, as a sentence; empty while it is on."""
        if self.on:
            return ""
        if self.ended:
            return f"Ended: {self.ended}."
        return f"Not yet: {self.lacks}." if self.lacks else "Not yet: the chamber is on its way to the metal's target."


def at_cap(boost: Boost, reading_c: float, mean_duty: float | None) -> None:
    """Take one second's reading and the mean duty of the last minute: what the cap costs says what melts."""
    near = boost.on and boost.cap_c is not None and reading_c >= boost.cap_c - AT_CAP_K
    boost.at_cap_s = boost.at_cap_s + 1 if near else 0
    boost.duty = mean_duty if boost.at_cap_s >= AT_CAP_FOR_S else None
    if boost.duty is not None:
        boost.arrest_duty = max(boost.duty, boost.arrest_duty or 0.0)


def see(boost: Boost, profile_c: float, facts: BoostFacts, limits: BoostLimits, rate_c_per_s: float) -> Governed:
    """One second of it: the chamber's setpoint, going up at the profile's rate and down at once.

    What ends a boost that has begun ends it for good: a condition that is lost does too.
    """
    lacking = missing(facts, limits)
    if not boost.began and not boost.ended and not lacking:
        boost.began = True
    if boost.began and not boost.ended:
        boost.ended = ends(facts, limits) or ", ".join(lacking)
        boost.barred = boost.barred or bool(facts.finding)
    boost.lacks = ", ".join(lacking)
    governed = govern(profile_c, facts, boost.ended, limits)
    boost.on = governed.boost
    boost.cap_c = cap_c(facts, limits) if not facts.no_model and not boost.ended else None
    boost.moved_k = _towards(governed.setpoint_c - profile_c, boost.moved_k, rate_c_per_s)
    return governed._replace(setpoint_c=profile_c + boost.moved_k)


def _towards(wanted_k: float, now_k: float, rate_c_per_s: float) -> float:
    """Up at the profile's rate, from over the target down at once; under it slowly, either way.

    The estimate follows the reading: what moves the chamber at once by it would swing with it.
    """
    if wanted_k < now_k:
        return max(wanted_k, min(now_k, 0.0) - DOWN_C_PER_S)
    return min(wanted_k, now_k + (rate_c_per_s if now_k >= 0.0 or wanted_k > 0.0 else UP_C_PER_S))


def end(boost: Boost, why: str) -> None:
    """It is over in this charge, whatever else."""
    boost.ended, boost.on, boost.moved_k = boost.ended or why, False, min(boost.moved_k, 0.0)


def arm_again(boost: Boost, energy_wh: float, minutes: float, more_wh: float, more_minutes: float | None) -> None:
    """A press after metal was added: a new boost, on what is forecast from now on. more_minutes None: no forecast."""
    boost.began, boost.ended, boost.added, boost.dip_c = False, "", False, None
    boost.at_cap_s, boost.duty, boost.arrest_duty, boost.moved_k = 0, None, None, max(0.0, boost.moved_k)
    known = more_minutes is not None
    boost.forecast_wh = energy_wh + more_wh if known else None
    boost.forecast_minutes = minutes + more_minutes if more_minutes is not None else None
