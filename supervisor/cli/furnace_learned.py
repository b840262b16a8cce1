"""What `furnace learn` says: one plain object for programs, a page for people."""

from datetime import UTC, datetime
from math import exp
from typing import Any

from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook.lesson import Lesson
from supervisor.model.learned import MEANS, usable_for_boost
from supervisor.model.reduced import FACTORS, prior_sd

PHASE_WORDS = {
    "empty": "empty pot",
    "solid": "metal solid",
    "melting": "metal melting",
    "liquid": "metal liquid",
    "dip": "dip readings of the metal",
}


def as_object(learned: Lesson, furnace: FurnaceDescription, kept: dict[str, Any] | None) -> dict[str, Any]:
    """Stable names with units. Factors are on what the furnace file says; log_sd is a logarithm's standard error."""
    model, was = learned.model, learned.known.adopted
    priors = prior_sd(metered=model.metered)
    return {
        "learned": True,
        "furnace": furnace.name,
        "learned_from": list(model.learned_from),
        "fitted_to": [firing.firing_id for firing in learned.firings],
        "left_out": [{"firing_id": number, "why": why} for number, why in learned.left_out],
        "metered": model.metered,
        "made_utc_ms": model.made_utc_ms,
        "factors": {
            name: {
                "value": round(exp(model.log_factors[at]), 5),
                "log_sd": round(model.log_sd[at], 5),
                "prior_log_sd": priors[name],
                "was": None if was is None else round(exp(was.log_factors[at]), 5),
            }
            for at, name in enumerate(FACTORS)
        },
        "residual_k": {phase: spread._asdict() for phase, spread in model.residual_k.items()},
        "valid_from_c": model.low_c,
        "valid_to_c": model.high_c,
        "objections": list(learned.objections),
        "surprising": list(learned.surprising),
        "no_boost_because": usable_for_boost(model, furnace),
        "kept": kept,
        "against": learned.against,
    }


def in_words(learned: Lesson, furnace: FurnaceDescription, kept: dict[str, Any] | None) -> list[str]:
    """The same for people."""
    model, was = learned.model, learned.known.adopted
    made = datetime.fromtimestamp(model.made_utc_ms / 1000.0, UTC)
    power = "as metered" if model.metered else "as ordered, mains unknown"
    lines = [
        f"{furnace.title}: learned from {_firings(model.learned_from)} (to {made:%Y-%m-%d %H:%M} UTC), power {power}.",
        *(f"Left out: firing {number}, {why}." for number, why in learned.left_out),
        "",
        f"{'':>46}  now   give or take" + ("" if was is None else "   was"),
    ]
    for at, name in enumerate(FACTORS):
        value, sd = exp(model.log_factors[at]), model.log_sd[at]
        before = "" if was is None else f"   {exp(was.log_factors[at]):.2f}"
        lines.append(f"{MEANS[name][0].upper() + MEANS[name][1:]:>46} {value:5.2f}   {value * sd:12.2f}{before}")
    lines += [
        "Factors on what the furnace file says. Power, losses and the sensor's place are known better together than one"
        " by one.",
        "",
        "Measured less modelled, the model run from the start by the power alone:",
        *(
            f"  {PHASE_WORDS[phase]:<26} {spread.bias:+6.1f} K on average, {spread.rms:5.1f} K rms, {spread.n} minutes"
            for phase, spread in model.residual_k.items()
        ),
        f"It holds for readings from {model.low_c:.0f} to {model.high_c:.0f} °C.",
        *learned.surprising,
        *(f"Against taking it: {objection}" for objection in learned.objections),
        "Only shown: nothing is kept." if kept is None else str(kept["sentence"]),
    ]
    no_boost = usable_for_boost(model, furnace)
    lines.append(f"No boost with it yet: {no_boost}" if no_boost else "With it the chamber may be boosted.")
    return lines


def _firings(numbers: tuple[int, ...]) -> str:
    if len(numbers) == 1:
        return f"firing {numbers[0]}"
    return f"firings {', '.join(str(number) for number in numbers[:-1])} and {numbers[-1]}"
