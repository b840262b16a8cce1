"""The pour screen: read at two metres, by hands that hold something else. Nothing on it has to be tapped."""

from flask import Blueprint, Response

from web.pages.show import page
from web.roles import anybody

pour = Blueprint("pour", __name__)


@pour.get("/pour")
@anybody
def show() -> Response:
    """The screen, alive as long as it is open."""
    return page("pour", "pour.html")
