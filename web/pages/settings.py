"""Settings: how this phone wants things shown, which phones are paired and for what, and how another one is paired."""

from typing import Any, cast, get_args

from flask import Blueprint, Response, request

from web import qr
from web.access import phone, record, runs_it, who
from web.book import Light, Phone, Units
from web.cookies import drop_token
from web.pages.show import page
from web.pairing import address_with, new_code, shown
from web.parts import parts
from web.replies import go_to
from web.roles import ROLES, looks, runs

settings = Blueprint("settings", __name__)

SENT_WITHIN_S = 33.0
"""Real seconds: one attempt at an address takes 31 at most, on a slow computer."""
ROWS_AT_ONCE = 100


@settings.get("/settings")
@looks
def show() -> Response:
    """The page."""
    return _page()


@settings.post("/settings")
@looks
def look() -> Response:
    """Keep unit and light."""
    units, light = request.form.get("units", ""), request.form.get("light", "")
    if units not in get_args(Units):
        return _page(f"units is {units!r}; allowed: C, F.")
    if light not in get_args(Light):
        return _page(f"light is {light!r}; allowed: {', '.join(get_args(Light))}.")
    parts().book.show_as(_me().id, cast(Units, units), cast(Light, light))
    return go_to("/settings")


@settings.post("/settings/pair")
@runs
def invite() -> Response:
    """Show a code and its picture that pair another phone, on this answer alone: the book keeps a digest."""
    role = request.form.get("role", "")
    if role not in ROLES:
        return _page(f"role is {role!r}; allowed: {', '.join(ROLES)}.")
    code = new_code(parts().book, parts().config.utc_ms(), role)
    record("code made", _me().name, f"to {role}")
    address = address_with(request.host_url, code)
    return page("settings", "invite.html", role=role, code=shown(code), address=address, picture=qr.as_svg(address))


@settings.post("/settings/revoke")
@looks
def revoke() -> Response:
    """Take a phone's pairing back. A phone that looks can only give back its own."""
    mine, me, typed = parts(), _me(), request.form.get("phone", "")
    gone = next((paired for paired in mine.book.phones() if str(paired.id) == typed), None)
    if gone is None or not (runs_it() or gone.id == me.id):
        return _page(f"phone is {typed!r}; allowed: {'one of the list' if runs_it() else 'this one'}.")
    mine.book.revoke(gone.id, mine.config.utc_ms())
    record("revoked", f"{gone.name} by {me.name}", f"was paired to {gone.role}")
    response = go_to("/" if gone.id == me.id else "/settings")
    if gone.id == me.id:
        drop_token(response)
    return response


@settings.get("/settings/record")
@runs
def kept() -> Response:
    """The record of access, newest first."""
    mine, typed = parts(), request.args.get("before", "")
    before = int(typed) if typed.isascii() and typed.isdecimal() and len(typed) < 18 else None
    mine.audit.flush()
    rows = mine.book.remembered(ROWS_AT_ONCE, before)
    older = rows[-1][0] if len(rows) == ROWS_AT_ONCE else None
    return page("settings", "record.html", rows=[row for _, row in rows], older=older)


@settings.post("/settings/test")
@runs
def test() -> Response:
    """Send a test message to a contact, and say what became of it."""
    mine, name = parts(), request.form.get("contact", "")
    before = _known(name)
    answer = mine.asking.ask({"command": "told", "what": "test wanted", "contact": name[:40] or "?"}, who())
    if answer.kind != "accepted":
        return _page(answer.sentence)
    known = _tested_within(name, before["tested"] if before else 0, SENT_WITHIN_S)
    if known is None:
        return _page(f"Nobody has said within {SENT_WITHIN_S:.0f} s what became of the test to {name}.")
    if not known["code_waits"]:
        return _page(f"The test to {name} was not delivered.")
    return go_to("/settings#told")


@settings.post("/settings/confirm")
@runs
def confirm() -> Response:
    """Take the code that the receiver of a test message read back."""
    code = request.form.get("code", "").strip()[:64] or "?"
    answer = parts().asking.ask({"command": "told", "what": "confirmed", "code": code}, who())
    return go_to("/settings#told") if answer.kind == "accepted" else _page(answer.sentence)


def _known(name: str) -> dict[str, Any] | None:
    """What the supervisor knows of a contact."""
    moment = parts().feed.latest()
    listed = moment.snapshot["reach"]["contacts"] if moment else []
    return next((each for each in listed if each["name"] == name), None)


def _tested_within(name: str, before: int, seconds: float) -> dict[str, Any] | None:
    """What the supervisor knows of a contact as soon as another test is done with; None: not in this time."""
    feed = parts().feed
    until_s, number = feed.monotonic_s() + seconds, 0
    while (left_s := until_s - feed.monotonic_s()) > 0:
        news = feed.after(number, left_s)
        known = _known(name)
        if known is not None and known["tested"] != before:
            return known
        number = news.number if news else number
    return None


def _me() -> Phone:
    me = phone()
    assert me is not None  # access.py lets nobody else come here
    return me


def _page(trouble: str = "") -> Response:
    return page(
        "settings",
        "settings.html",
        status=400 if trouble else 200,
        phones=parts().book.phones(),
        trouble=trouble,
        secure=request.is_secure,
    )
