"""Settings: how this phone wants things shown, and which phones are paired."""

from typing import cast, get_args

from flask import Blueprint, Response, request

from web.access import phone
from web.book import Light, Phone, Units
from web.cookies import drop_token
from web.pages.show import page
from web.parts import parts
from web.replies import go_to

settings = Blueprint("settings", __name__)


@settings.get("/settings")
def show() -> Response:
    """The page."""
    return _page()


@settings.post("/settings")
def look() -> Response:
    """Keep unit and light."""
    units, light = request.form.get("units", ""), request.form.get("light", "")
    if units not in get_args(Units):
        return _page(f"units is {units!r}; allowed: C, F.")
    if light not in get_args(Light):
        return _page(f"light is {light!r}; allowed: {', '.join(get_args(Light))}.")
    parts().book.show_as(_me().id, cast(Units, units), cast(Light, light))
    return go_to("/settings")


@settings.post("/settings/revoke")
def revoke() -> Response:
    """Take a phone's pairing back: it only looks, stops and lowers from now on."""
    mine, typed = parts(), request.form.get("phone", "")
    gone = next((paired for paired in mine.book.phones() if str(paired.id) == typed), None)
    if gone is None:
        return _page(f"phone is {typed!r}; allowed: one of the list.")
    now_ms = mine.config.utc_ms()
    mine.book.revoke(gone.id, now_ms)
    mine.book.remember("revoked", f"{gone.name} by {_me().name}", request.remote_addr or "?", now_ms)
    response = go_to("/" if gone.id == _me().id else "/settings")
    if gone.id == _me().id:
        drop_token(response)
    return response


def _me() -> Phone:
    me = phone()
    assert me is not None  # access.py lets nobody else come here
    return me


def _page(trouble: str = "") -> Response:
    return page(
        "settings", "settings.html", status=400 if trouble else 200, phones=parts().book.phones(), trouble=trouble
    )
