"""Size: an element for a circuit and a chamber, or what a coil that is there gives. On paper: nothing is switched."""

from urllib.parse import urlencode

from flask import Blueprint, Response, request

from web import sizing
from web.live import reader
from web.pages.show import page
from web.roles import looks

size = Blueprint("size", __name__)

SHOWN_FITS, SHOWN_REFUSED = 7, 3


@size.get("/size")
@looks
def show() -> Response:
    """The form, and what came of what was typed: an address to keep, to print, to send."""
    form, units = request.args, reader().units
    way = "coil" if form.get("way") == "coil" else "element"
    found = None
    if form.get("asked"):
        if way == "coil":
            found = sizing.coil(form, units)
        else:
            found = sizing.element(form, form.getlist("wall"), form.getlist("lid"), form.getlist("alloy"), units)
    answer = found.answer if found else None
    rows = answer.get("candidates", []) if answer else []
    fits = [each for each in rows if each["verdict"] != "refused"]
    refused = [each for each in rows if each["verdict"] == "refused"]
    shown = fits[:SHOWN_FITS] + refused[:SHOWN_REFUSED]
    return page(
        "size",
        "size.html",
        way=way,
        form=form,
        walls=_pairs(form.getlist("wall"), sizing.LAYERS),
        lids=_pairs(form.getlist("lid"), sizing.LAYERS - 1),
        chosen=form.getlist("alloy"),
        found=found,
        answer=answer,
        rows=[{**each, "look": _address(each["alloy"], each["wire"])} for each in shown],
        more=len(rows) - len(shown),
        all_of_them=_address(),
        cautions=sizing.cautions(),
        **sizing.choices(),
    )


def _address(alloy: str = "", wire: str = "") -> str:
    """The same question for one wire alone, or for all of them."""
    rest = [(name, value) for name, value in request.args.items(multi=True) if name not in ("alloy", "wire")]
    return f"/size?{urlencode([*rest, *([('alloy', alloy), ('wire', wire)] if wire else [])])}"


def _pairs(typed: list[str], count: int) -> list[tuple[str, str]]:
    """Thickness and material of so many layers, for the form."""
    filled = [*typed, *[""] * (2 * count)]
    return [(filled[2 * n], filled[2 * n + 1]) for n in range(count)]
