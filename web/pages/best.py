"""The best mix for a wish, and what could be poured today: each with one tap that takes it into a plan."""

import re
from collections.abc import Mapping
from typing import Any, NamedTuple

from flask import Blueprint, Response, request

from supervisor.book.charging import of_a_charge
from supervisor.book.mixing import on_hand, shop
from supervisor.metal.alloys import table
from supervisor.metal.answer import answer, verdict
from supervisor.metal.best import Best
from supervisor.metal.best import best as reckon
from supervisor.metal.best_words import mass_words, sentences
from supervisor.metal.best_words import verdict as how_it_holds
from supervisor.metal.cost import Cost
from supervisor.metal.masses import kg_of
from supervisor.metal.today import Proposal, Today, too_long
from supervisor.metal.today import today as reckon_today
from supervisor.metal.wish import own_limits, wish
from web.asking import number
from web.metal import count_word, reading
from web.mixing import solve_in_a_child
from web.pages.show import page
from web.parts import parts
from web.planned import Bar, bars, furnace_of, heating_of
from web.profiles import usual
from web.roles import looks

best = Blueprint("best", __name__)

LEAST_SHOWN_PCT = 0.005


@best.get("/plan/best")
@looks
def show() -> Response:
    """Ask for a wish; with one, what comes of it."""
    asked, found, trouble = request.args, None, ""
    if asked.get("kg") is not None:
        try:
            found = _found(asked)
        except ValueError as problem:
            trouble = str(problem)
    return page(
        "plan",
        "best.html",
        asked=asked,
        alloys=table(),
        found=found,
        headline=_headline(found) if found else trouble or "What shall it be?",
        masses=[(name, mass_words(kg)) for name, kg in found.masses] if found else (),
        trouble=trouble,
        sentences=sentences(found) if found else (),
        inside=_inside(found) if found else (),
    )


def _found(asked: Mapping[str, str]) -> Best:
    mine = parts()
    furnace = furnace_of(mine.feed.latest(1.0))
    if furnace is None:
        raise ValueError("The supervisor does not answer: nobody knows the pot.")
    wanted = wish(asked.get("to", ""), own_limits(each for each in asked.get("limits", "").split() if each))
    kg = kg_of(asked.get("kg", ""), most_kg=furnace.pot.capacity_kg, most_is="the working fill of the pot")
    with reading() as book:
        there = on_hand(book, with_ingots=asked.get("ingots") == "yes")
    dry, now_ms = asked.get("dry") == "yes", mine.config.utc_ms()
    return reckon(there.items, wanted, kg, solve_in_a_child, in_the_pot=there.in_the_pot, dry_alone=dry, now_ms=now_ms)


def _headline(found: Best) -> str:
    said = how_it_holds(found)
    return f"For {found.wish.name}: {said[0].lower()}{said[1:]}"


def _inside(found: Best) -> list[tuple[str, str, str]]:
    """Each demand that matters: what is likely of it, its band, and what is wished."""
    inside, out = found.mix.composition, []
    for demand in found.wish.demands:
        element = demand.elements[0]
        likely = inside.likely.get(element, 0.0)
        if len(demand.elements) > 1 or not (demand.doubted or likely >= LEAST_SHOWN_PCT):
            continue
        sides = ((demand.least, "at least"), (demand.most, "at most"))
        asked = ", ".join(f"{words} {limit:g}" for limit, words in sides if limit is not None)
        out.append(
            (element, f"{likely:.2f}", f"{inside.low[element]:.2f} to {inside.high[element]:.2f}; wished {asked}")
        )
    return out


class Offered(NamedTuple):
    """A proposal with what it would take."""

    proposal: Proposal
    headline: str
    verdict: str
    bars: tuple[Bar, ...]
    forecast: Mapping[str, Any] | None
    cost: Cost | None


@best.get("/plan/today")
@looks
def today() -> Response:
    """Three charges from the metal that is dry, for the moulds that are, in the hours that are free."""
    mine = parts()
    furnace = furnace_of(mine.feed.latest(1.0))
    if furnace is None:
        return page("plan", "missing.html", status=409, why="The supervisor does not answer: nobody knows the pot.")
    profile = usual(mine.drawer.profiles())
    try:
        free_h = number(request.args, "hours", "h") if request.args.get("hours", "").strip() else None
        with reading() as book:
            there = shop(book, furnace.pot, heating_of(profile))
        found = reckon_today(there, solve_in_a_child, mine.config.utc_ms())
    except ValueError as problem:
        found, free_h = Today((), str(problem)), None
    offered, missing = _offered(found, "" if profile is None else profile.text, free_h)
    return page(
        "plan",
        "today.html",
        offered=offered,
        missing=re.split(r"(?<=[.:]) (?=[A-Z])", missing) if missing else [],  # a line for each sentence
        hours=request.args.get("hours", ""),
        profile=profile,
        count=count_word,
    )


def _offered(found: Today, profile_toml: str, free_h: float | None) -> tuple[list[Offered], str]:
    """Those that fit into the free hours, and why there are no more."""
    offered, missing = [], [found.missing]
    for each in found.proposals:
        frozen = each.plan.frozen
        forecast, _ = parts().forecasts.of(of_a_charge(frozen.charge, frozen.pour_c, profile_toml))
        said = answer(each.plan, forecast)
        if late := too_long(forecast, free_h):
            missing.append(f"{said[:-1]}: {late}")
        else:
            cost = each.plan.cost(forecast, None if forecast is None else forecast.get("prices"))
            offered.append(Offered(each, said, verdict(each.plan), bars(each.plan), forecast, cost))
    return offered, " ".join(each for each in missing if each)
