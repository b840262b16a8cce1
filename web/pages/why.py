"""Why: the evidence behind each number and each refusal."""

from flask import Blueprint, Response

from web.pages.show import page
from web.roles import anybody

why = Blueprint("why", __name__)


@why.get("/why")
@anybody
def show() -> Response:
    """All questions and answers of this moment, each at an address of its own."""
    return page("why", "why.html")
