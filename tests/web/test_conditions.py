"""Each condition of a start, missing alone as the supervisor says it, is named on the page with what mends it."""

from html import unescape

from tests.supervisor.firing.test_permissives import ALONE
from tests.supervisor.firing.unlocked import at_stage
from tests.supervisor.furnace_at_hand import bake
from tests.web.conftest import Browser
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import made
from tests.web.snapshots import IDLE


def test_each_condition_that_is_missing_alone_is_named_on_the_page(phone: Browser, furnace: Scripted) -> None:
    for name, take_away in ALONE.items():
        hand = at_stage(3, start_c=100.0)
        hand.prepare(bake(to_c=300.0))
        hand.turn(sample=take_away(hand, hand.hardware.sample()))
        (missing,) = [each for each in hand.shown()["permissives"] if not each["met"]]
        furnace.show(made(IDLE, permissives=hand.shown()["permissives"]))
        page = unescape(phone.get("/").text)
        assert f"<b>{name[0].upper()}{name[1:]}: missing</b>" in page
        assert page.count(": missing</b>") == 1
        assert missing["mend"].split(".")[0].split(" °C")[0] in page
