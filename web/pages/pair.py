"""Pair: a phone with the code from the console becomes one of the furnace's own."""

from flask import Blueprint, Response, request

from web import pairing
from web.access import record
from web.cookies import has_read, set_token
from web.pages.show import page
from web.parts import parts
from web.replies import go_to
from web.roles import anybody, entry

pair = Blueprint("pair", __name__)

LONGEST_NAME = 40


@pair.get("/pair")
@anybody
def show() -> Response:
    """The form. The code may come behind # in the address: that part never leaves the phone by itself."""
    return page("pair", "pair.html", trouble="")


@pair.post("/pair")
@entry
def enter() -> Response:
    """Take the code, give the token."""
    mine = parts()
    name = "".join(letter for letter in request.form.get("name", "") if letter.isprintable()).strip()
    if not 1 <= len(name) <= LONGEST_NAME:
        said = f"The name is {name!r}; allowed: 1 to {LONGEST_NAME} characters."
        return page("pair", "pair.html", status=400, trouble=said)
    paired = pairing.pair(mine.book, request.form.get("code", "")[:64], name, mine.config.utc_ms())
    record("paired" if paired else "wrong code", name, f"to {paired.role}" if paired else "")
    if paired is None:
        said = "That code does not pair: wrong, used, or older than 5 minutes. Make a new one: meltkeeper pair."
        return page("pair", "pair.html", status=403, trouble=said)
    response = go_to("/" if has_read() else "/first")
    set_token(response, paired.token)
    return response
