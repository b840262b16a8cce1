"""To print while a firing runs: the notice for the door, A5, and the card for the wall, A4."""

from flask import Blueprint, Response

from supervisor.alarms.cautions import Caution, cautions
from web.pages.show import page
from web.roles import anybody

notices = Blueprint("notices", __name__)

OF_A_NOTICE = ("spill", "water", "fire", "burn")
OF_A_CARD = ("spill", "water", "fire", "unknown-metal", "burn", "carbon-monoxide", "mains")


@notices.get("/notice")
@anybody
def notice() -> Response:
    """The door notice: furnace hot, whose, what to switch off, what to do."""
    return page("notice", "notice.html", told=_told(OF_A_NOTICE))


@notices.get("/card")
@anybody
def card() -> Response:
    """The emergency card: what to do when something has gone wrong, in the order of doing."""
    return page("card", "card.html", told=_told(OF_A_CARD))


def _told(ids: tuple[str, ...]) -> list[Caution]:
    known = {caution.id: caution for caution in cautions("first_run")}
    return [known[one] for one in ids]
