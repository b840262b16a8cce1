"""Looking back: melts side by side, figures over months and years, and why an ingot is poor."""

from flask import Blueprint, Response, request

from supervisor.refusal import InputRefused
from web import charts
from web.history import firings
from web.looking_back import MOST_COMPARED, compared, over_the_years, why_poor
from web.metal import reading
from web.pages.show import page
from web.parts import parts
from web.roles import looks

look_back = Blueprint("look_back", __name__)

SPANS = (("3", "three months", 92), ("12", "a year", 366), ("36", "three years", 1096), ("", "all", None))
"""What `months` may be, in words and in days."""

CHOICE = 40


@look_back.get("/compare")
@looks
def compare() -> Response:
    """Up to five melts side by side; without any, a list to choose from."""
    data = parts().config.data
    asked = [int(each) for each in request.args.getlist("melt") if each.isdecimal() and len(each) < 9]
    try:
        choice = [each for each in firings(data, limit=CHOICE) if each.backend != "paper" and each.heat_number]
        with reading() as book:
            found = compared(data, book, asked) if asked else None
    except InputRefused as problem:
        return _missing(str(problem))
    return page("melts", "compare.html", found=found, choice=choice, asked=asked, most=MOST_COMPARED)


@look_back.get("/trends")
@looks
def trends() -> Response:
    """Yield, energy, duration, element, thermocouple over the years, each with its sentence."""
    mine, months = parts(), request.args.get("months", "")
    days = next((days for name, _, days in SPANS if name == months), None)
    try:
        with reading() as book:
            found = over_the_years(mine.config.data, book, mine.config.utc_ms(), days)
    except InputRefused as problem:
        return _missing(str(problem))
    shown = [(each, charts.trend(each), charts.key(each)) for each in found]
    return page("melts", "trends.html", trends=shown, spans=SPANS, months=months)


@look_back.get("/ingots/<name>/why")
@looks
def why(name: str) -> Response:
    """What in the record of an ingot is out of the usual, ranked."""
    seen = " ".join(request.args.get("seen", "").split())[:200]
    try:
        with reading() as book:
            found = why_poor(parts().config.data, book, name, seen)
    except InputRefused as problem:
        return _missing(str(problem))
    return page("metal", "why_poor.html", found=found, ingot=found.ingot)


def _missing(sentence: str) -> Response:
    return page("melts", "missing.html", status=404, why=sentence)
