"""What melts that are over ask for on Furnace now: the walk that is due, and what the record lacks."""

from pathlib import Path

import pytest

from supervisor.book.closing import fired
from tests.supervisor.book.shop import Shop
from tests.web.conftest import Browser
from tests.web.kept import keep_firings
from tests.web.looking import look, said
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import Snapshot
from tests.web.snapshots import HEATING, STOPPED
from tests.web.snapshots_trouble import TRIPPED
from tests.web.test_once import ONCE
from web.rounds import MIN_MS

NOW = "The furnace is stopped 21 °C, off, proved."


@pytest.fixture
def over_ms(data: Path, furnace: Scripted) -> int:
    """When the melt was over whose record is open."""
    keep_firings(data)
    shop = Shop(data)
    shop.lot("L-1", 4.0)
    shop.melt("A-096", L_1=2.0)
    over = fired(data)["A-096"].over_utc_ms
    assert over is not None
    return over


def headline(phone: Browser, furnace: Scripted, snapshot: Snapshot, utc_ms: int, hot_c: float = 21.0) -> str:
    hot = {"c": hot_c, "age_s": 0.0, "fault": None}
    page = look(phone, furnace, snapshot, utc_ms=utc_ms, hot_junction=hot)
    return " ".join(said(page[page.index("<h1") : page.index("</h1>")]).replace(" .", ".").split())


@pytest.mark.parametrize(
    ("minutes", "hot_c", "words"),
    [
        (20, 300.0, NOW),
        (31, 300.0, "Walk round now: 30-minute look for smoulder, melt A-096."),
        (61, 300.0, "Walk round now: 60-minute look for smoulder, melt A-096."),
        (20, 30.0, "Cold. Melt A-096 lacks two things: a look into the pot, the 180-minute walk."),
    ],
)
def test_the_walk_that_is_due_and_what_lacks_are_the_headline_of_a_furnace_at_rest(
    phone: Browser, furnace: Scripted, over_ms: int, minutes: int, hot_c: float, words: str
) -> None:
    assert headline(phone, furnace, STOPPED, over_ms + minutes * MIN_MS, hot_c) == words


def test_a_walk_is_noted_where_it_is_asked_for(phone: Browser, furnace: Scripted, over_ms: int) -> None:
    page = look(phone, furnace, STOPPED, utc_ms=over_ms + 31 * MIN_MS)
    assert "30 minutes after melt A-096: look, smell and feel for smoulder" in page
    assert 'action="/melts/A-096/walk"' in page
    again = look(phone, furnace, STOPPED, utc_ms=over_ms + 32 * MIN_MS)
    once = ONCE.findall(page)  # another one with each second would be sent to every phone, and between two taps
    assert once
    assert once == ONCE.findall(again)
    walk = {"seen": "nothing", "once": once[0]}
    assert (
        phone.post("/melts/A-096/walk", data=walk).headers["Location"]
        == (phone.post("/melts/A-096/walk", data=walk).headers["Location"])
    )


def test_a_round_never_hides_what_the_furnace_says(phone: Browser, furnace: Scripted, over_ms: int) -> None:
    for snapshot in (HEATING, TRIPPED):
        assert "Walk" not in headline(phone, furnace, snapshot, over_ms + 61 * MIN_MS, 300.0)
