"""The best mix for a wish: how much of which lot, and one tap to take it into a plan."""

from collections.abc import Mapping

from flask import Blueprint, Response, request

from supervisor.book.mixing import on_hand
from supervisor.metal.alloys import table
from supervisor.metal.best import Best
from supervisor.metal.best import best as reckon
from supervisor.metal.best_words import headline, sentences
from supervisor.metal.masses import kg_of
from supervisor.metal.wish import own_limits, wish
from web.metal import reading
from web.mixing import solve_in_a_child
from web.pages.show import page
from web.parts import parts
from web.planned import furnace_of
from web.roles import looks

best = Blueprint("best", __name__)


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
        headline=headline(found) if found else trouble or "What shall it be?",
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


def _inside(found: Best) -> list[tuple[str, str]]:
    """Each demand with what is likely of it and its band."""
    inside, out = found.mix.composition, []
    for demand in found.wish.demands:
        if len(demand.elements) > 1 or not inside.high.get(demand.elements[0], 0.0) >= 0.005:
            continue
        element = demand.elements[0]
        least = "" if demand.least is None else f"at least {demand.least:g}"
        most = "" if demand.most is None else f"at most {demand.most:g}"
        at = f"{inside.likely.get(element, 0.0):.2f} ({inside.low[element]:.2f} to {inside.high[element]:.2f})"
        out.append((element, f"{at}; wished {', '.join(each for each in (least, most) if each)}"))
    return out
