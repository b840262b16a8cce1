"""The one sentence that a plan comes to, and the few after it, as page and command line say them."""

from collections.abc import Mapping
from typing import Any

from supervisor.metal.alloys import UNKNOWN
from supervisor.metal.composition import ALUMINIUM
from supervisor.metal.forms import FORMS
from supervisor.metal.item import IN_THE_POT
from supervisor.metal.plan import Plan

COUNTS = ("no ingot", "one ingot", "two ingots", "three ingots", "four ingots", "five ingots", "six ingots")
LEAST_SHOWN_PCT = 0.05


def answer(found: Plan, forecast: Mapping[str, Any] | None) -> str:
    """What comes out, of which kind, in which time."""
    makes = f"{found.mix.charged_kg:.2f} kg of {what(found)} makes {_count(found)} {near(found)}"
    return f"{makes}{_time(forecast)}."


def what(found: Plan) -> str:
    """What goes in, in a word or two, and that something is in the pot already."""
    goes_in = [item for item in found.items if item.origin != IN_THE_POT]
    words = list(dict.fromkeys(FORMS[item.form].words for item in goes_in))
    named = list(dict.fromkeys(item.words for item in goes_in))
    new = named[0] if len(named) == 1 else words[0] if len(words) == 1 else "mixed scrap"
    if len(goes_in) == len(found.items):
        return new
    return f"{new} and what is in the pot" if goes_in else "what is in the pot"


def near(found: Plan) -> str:
    """What the metal is like."""
    if found.near is None or (found.frozen.charge.alloy == UNKNOWN and not found.mix.composition.known):
        return "of unknown metal"
    name = found.near.alloy.name
    return f"like no listed alloy, nearest {name}" if found.near.strange else f"near {name}"


def _count(found: Plan) -> str:
    number = len(found.moulds.filled)
    if not number:
        return f"{found.mix.melt_kg:.2f} kg of metal"
    return COUNTS[number] if number < len(COUNTS) else f"{number} ingots"


def _time(forecast: Mapping[str, Any] | None) -> str:
    minutes = None if forecast is None else forecast.get("minutes")
    if not minutes:
        return ""
    likely = float(minutes["likely"])
    if likely < 100.0:
        return f" in about {round(likely / 5.0) * 5} minutes"
    halves = round(likely / 30.0)
    hours, half = divmod(halves, 2)
    return f" in about {hours}{' and a half' if half else ''} hours"


def verdict(found: Plan) -> str:
    """Which limits of the nearest alloy it keeps, in a sentence."""
    if found.near is None:
        unknown = [item.name for item in found.items if not item.composition.known]
        return f"Nobody can say what comes out: {', '.join(unknown)} is unknown metal."
    name = found.near.alloy.name
    if not found.near.misses:
        return f"Likely inside all limits of {name}, if the lots are what they are taken for."
    words = "; ".join(f"{miss.words}{' (perhaps)' if miss.perhaps else ''}" for miss in found.near.misses)
    sentence = f"Nearest to {name}, but for: {words}."
    for each in () if found.near.strange else found.culprits:
        could = f"{each.could_kg:.2f} kg of it could go in" if each.could_kg > 0.0 else "no mass of it alone mends that"
        sentence += f" {each.miss.element} comes from {each.part}: {could}."
    return sentence


def composition_lines(found: Plan) -> list[str]:
    """Composition, temperatures and balance, a line each."""
    mixed, inside = found.mix, found.mix.composition
    out = [verdict(found)]
    for element in sorted(inside.high, key=lambda e: (e == ALUMINIUM, -inside.high[e])):
        if inside.high[element] >= LEAST_SHOWN_PCT:
            likely = f"{inside.likely[element]:.2f} %" if inside.known else "not known"
            out.append(f"{element:<3}{likely:>10}   {inside.low[element]:.2f} to {inside.high[element]:.2f}")
    out.append(
        f"Metal {mixed.melt_kg:.2f} ± {mixed.give_kg:.2f} kg of {mixed.charged_kg:.2f}: loss {mixed.loss_pct:.1f} %."
    )
    solidus = "not known: the gate waits at 450 °C" if found.solidus_c is None else f"{found.solidus_c:.0f} °C"
    liquid = found.liquidus
    liquidus = liquid.why if liquid.c is None else f"{liquid.c:.0f} ± {liquid.give_k:.0f} °C"
    out.append(f"Lowest solidus {solidus}. Liquidus {liquidus}{'' if liquidus.endswith('.') else '.'}")
    out.append(f"Pour at {found.pour.low_c:.0f} to {found.pour.high_c:.0f} °C. {found.pour.why}".rstrip())
    return out
