"""The best mix in sentences, as page and command line say them, and as an object for other programs."""

from collections.abc import Sequence
from typing import Any

from supervisor.metal.best import Best, Lack
from supervisor.metal.composition import ALUMINIUM
from supervisor.metal.pure import CAUTIONS
from supervisor.metal.wish import Held

FEW = 3
"""So many limits a sentence names; the table has them all."""


def headline(found: Best) -> str:
    """The masses, and how well they hold what was wished."""
    if found.lacks:
        said = verdict(found)
        return f"For {found.wish.name}: {said[0].lower()}{said[1:]}"
    return f"For {found.wish.name}: {_masses(found)}. {verdict(found)}"


def _masses(found: Best) -> str:
    return ", ".join(f"{mass_words(kg)} of {name}" for name, kg in found.masses)


def verdict(found: Best) -> str:
    """How the limits hold, in a sentence."""
    if found.holds == "over the band":
        return "All wished limits hold over the whole band."
    if found.holds == "likely":
        return f"All wished limits hold as likely, not over the whole band: {_few(found.reached)}."
    return f"It cannot be met with what is there: {_few([each.held for each in found.lacks])}."


def _few(sides: Sequence[Held]) -> str:
    said, more = "; ".join(each.words for each in sides[:FEW]), len(sides) - FEW
    return said if more <= 0 else f"{said}; and {more} more"


def sentences(found: Best) -> list[str]:
    """What is to be known of it beside that: what is lacking, what to dry first, what was left out and why."""
    made_kg = found.mix.charged_kg
    said = [_lacking(each) for each in found.lacks]
    if found.lacks:
        said.append(f"What comes nearest: {_masses(found)}.")
    if made_kg < found.asked_kg - 0.005:
        said.append(f"Only {made_kg:.2f} of {found.asked_kg:.2f} kg are there that can be used.")
    if found.could_kg is not None:
        could = f"{found.could_kg:.2f} kg could be made within" if found.could_kg >= 0.05 else "No mass of it keeps"
        said.append(f"{could} the limits from these lots, as likely.")
    if found.wet:
        said.append(f"Not proved dry: {', '.join(found.wet)}. Dry it first.")
    if found.guessed:
        said.append(f"The alloy of {', '.join(found.guessed)} is a guess: for the gate the charge counts as unknown.")
    said += [f"Left out: {each.why}" for each in found.left_out]
    return said + last_words(found)


def last_words(found: Best) -> list[str]:
    """Pure metal that lies there: never the first choice, and only with its caution."""
    said = []
    for each in found.last:
        enough = "" if each.enough else ", more than there is"
        said.append(
            f"A lot with less loss of it is the better way. If it has to be: {1000.0 * each.kg:.1f} g of {each.name}"
            f"{enough}, at the very end. {CAUTIONS[each.element]}"
        )
    return said


def _lacking(of: Lack) -> str:
    """By how much, and what would mend it."""
    name = of.held.demand.name
    if of.held.above:
        return f"{name}: {of.dilute_kg:.2f} kg of metal without it would thin it; it cannot be taken out."
    master = "" if of.master_kg is None else f", as {1000.0 * of.master_kg:.0f} g of a master alloy with half of it"
    return f"{name}: {1000.0 * of.missing_kg:.1f} g are missing{master}, or a lot that holds more of it."


def mass_words(kg: float) -> str:
    """As one weighs it."""
    return f"{1000.0 * kg:.1f} g" if kg < 0.05 else f"{kg:.3f} kg"


def as_object(found: Best) -> dict[str, Any]:
    """Plain values for JSON, units in the names."""
    inside = found.mix.composition
    return {
        "wish": found.wish.name,
        "asked_kg": found.asked_kg,
        "holds": found.holds,
        "masses": [{"name": name, "kg": kg} for name, kg in found.masses],
        "charged_kg": found.mix.charged_kg,
        "melt_kg": found.mix.melt_kg,
        "composition_pct": [
            {"element": e, "likely": inside.likely[e], "low": inside.low[e], "high": inside.high[e]}
            for e in sorted(inside.likely, key=lambda e: (e == ALUMINIUM, -inside.likely[e]))
        ],
        "reached": _sides(found.reached),
        "lacks": [
            _side(each.held) | {"missing_kg": each.missing_kg, "master_kg": each.master_kg, "dilute_kg": each.dilute_kg}
            for each in found.lacks
        ],
        "could_kg": found.could_kg,
        "not_proved_dry": list(found.wet),
        "guessed": list(found.guessed),
        "left_out": [each._asdict() for each in found.left_out],
        "last": [each._asdict() | {"caution": CAUTIONS[each.element]} for each in found.last],
        "sentence": headline(found),
        "sentences": sentences(found),
    }


def _sides(sides: Sequence[Held]) -> list[dict[str, Any]]:
    return [_side(each) for each in sides]


def _side(of: Held) -> dict[str, Any]:
    return {
        "element": of.demand.name,
        "limit_pct": of.limit_pct,
        "side": "most" if of.above else "least",
        "pct": of.pct,
        "edge_pct": of.edge_pct,
        "words": of.words,
    }
