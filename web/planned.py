"""A plan of a melt as the page shows it: reckoned by the book, with furnace and forecast as the link tells them."""

import tomllib
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from supervisor.book.charging import Furnace, of_a_charge
from supervisor.book.plans import KeptPlan, chosen_moulds, reckoned
from supervisor.book.proofs import proof_of
from supervisor.book.writing import Book
from supervisor.metal import answer, dryness
from supervisor.metal.composition import ALUMINIUM
from supervisor.metal.conditions import Condition
from supervisor.metal.cost import Cost
from supervisor.metal.fit import Pot
from supervisor.metal.plan import Heating, Plan
from web.feed import Moment
from web.profiles import ProfileFile

BAR_WIDTH = 300.0
LEAST_SHOWN_PCT = 0.05


class Bar(NamedTuple):
    """One element: its band as a bar over the box of what the nearest alloy allows, in units of the picture."""

    element: str
    words: str  # likely ± half the band, or the band alone
    box_x: float | None  # of the alloy's limits; None: it has none for this element
    box_width: float
    low_x: float
    width: float
    likely_x: float | None
    fails: bool


class Shown(NamedTuple):
    """Everything that the page needs."""

    kept: KeptPlan
    plan: Plan
    headline: str
    verdict: str
    bars: tuple[Bar, ...]
    missing: int
    asked: tuple[Condition, ...]  # that a person's word meets, met or not; the weather apart
    moulds: Sequence[tuple[str, str, str]]  # code, name, why it is not dry
    forecast: Mapping[str, Any] | None
    trouble: str  # why there is no forecast
    cost: Cost | None = None


def furnace_of(moment: Moment | None) -> Furnace | None:
    """The furnace that the supervisor watches; None: nobody has told."""
    if moment is None:
        return None
    told = moment.snapshot["furnace"]
    backend = "simulated" if told["backend"] == "simulated" else "real"
    pot = Pot(told["capacity_kg"], told["bore_mm"], told["depth_mm"])
    return Furnace(told["name"], told["letter"], backend, pot)


def heating_of(profile: ProfileFile | None) -> Heating | None:
    """What a plan needs of a profile file: the supervisor judges the file itself when it is prepared."""
    if profile is None or profile.trouble:
        return None
    document = tomllib.loads(profile.text)
    segments = document.get("segment")
    tops = [
        float(each["ramp_to_c"])
        for each in (segments if isinstance(segments, list) else [])
        if isinstance(each, dict) and isinstance(each.get("ramp_to_c"), int | float)
    ]
    pour_c = document.get("pour_c")
    return (
        Heating(profile.name, max(tops), float(pour_c) if isinstance(pour_c, int | float) else None) if tops else None
    )


def shown(book: Book, kept: KeptPlan, pot: Pot, heating: Heating | None, now_ms: int) -> Shown:
    """Reckon a plan for the page. The forecast comes later.

    Raises:
        InputRefused: nothing goes in, or something of it cannot be.
    """
    planned = reckoned(book, kept, pot, heating, now_ms)
    asked = [each for each in planned.conditions if each.asks and each.id != "air"]
    return Shown(
        kept,
        planned,
        answer.answer(planned, None),
        answer.verdict(planned),
        bars(planned),
        len([each for each in planned.conditions if not each.met]),
        tuple(asked),
        [
            (each.code, each.name, dryness.refusal(each.code, proof_of(book, ("mould", each.id)), now_ms))
            for each in chosen_moulds(book, kept)
        ],
        None,
        "",
    )


def with_forecast(found: Shown, forecast: Mapping[str, Any] | None, trouble: str) -> Shown:
    """The same with what the firing is expected to take."""
    headline = answer.answer(found.plan, forecast)
    cost = found.plan.cost(forecast, None if forecast is None else forecast.get("prices"))
    return found._replace(forecast=forecast, trouble=trouble, headline=headline, cost=cost)


def asks_for(found: Shown, profile_toml: str) -> dict[str, Any]:
    """What the link is asked for a forecast."""
    frozen = found.plan.frozen
    return of_a_charge(frozen.charge, frozen.pour_c, profile_toml)


def bars(planned: Plan) -> tuple[Bar, ...]:
    """Composition as bars, the most first, aluminium left out."""
    inside, near = planned.mix.composition, planned.near
    out = []
    for element in sorted(inside.high, key=lambda e: -inside.high[e]):
        limits = None if near is None else near.alloy.limits.get(element)
        if element == ALUMINIUM or (inside.high[element] < LEAST_SHOWN_PCT and limits is None):
            continue
        most = max(inside.high[element], 0.0 if limits is None else limits.most or 0.0) * 1.1 or 1.0
        scale = BAR_WIDTH / most
        likely = inside.likely.get(element) if inside.known else None
        fails = near is not None and any(miss.element == element for miss in near.misses)
        box_x, box_width = None, 0.0
        if limits is not None and limits.most is not None:
            least = limits.least or 0.0
            box_x, box_width = round(least * scale, 1), round((limits.most - least) * scale, 1)
        low, high = inside.low[element], inside.high[element]
        words = f"{low:.2f} to {high:.2f} %" if likely is None else f"{likely:.2f} % ({low:.2f} to {high:.2f})"
        at = None if likely is None else round(likely * scale, 1)
        out.append(
            Bar(
                element,
                words,
                box_x,
                box_width,
                round(low * scale, 1),
                round(max(2.0, (high - low) * scale), 1),
                at,
                fails,
            )
        )
    return tuple(out)
