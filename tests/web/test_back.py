"""What the page says when the power or the program has come back, and what it asks before a reset."""

from pathlib import Path

from supervisor.firing.commands import Reset
from tests.supervisor.logbook import closed, event, opened, samples, scribe_of
from tests.web.conftest import Browser
from tests.web.looking import look, said
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import commands
from tests.web.snapshots import STOPPED
from tests.web.snapshots_trouble import CAME_BACK, TRIPPED


def test_the_page_says_what_happened_how_long_it_was_and_what_not_to_do(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, CAME_BACK))
    assert "The power came back" in page
    assert "It was away 42 min." in page
    assert "Metal may be liquid inside, for another 4 h 10 min at the latest." in page
    assert "The chamber read 738 °C then and reads 412 °C now." in page
    assert "Do not add charge" in page
    assert "Nothing heats again by itself." in page
    assert page.index("Metal may be liquid") < page.index("What heat asks for")
    assert "solid" not in page.replace("all solid", "").lower()


def test_the_strip_is_that_of_the_firing_which_was_cut(phone: Browser, furnace: Scripted, data: Path) -> None:
    with scribe_of(data) as scribe:
        scribe.put([opened(1, heat_number="A-086"), *samples(5), closed(5000), opened(2, heat_number="A-087")])
        scribe.put([*samples(60, 2), event(60_000, 2)])
    page = look(phone, furnace, CAME_BACK)
    assert 'data-before="2"' in page
    assert "Up to where it ended. All of its record: A-087." in said(page)
    assert 'href="/melts/2"' in page
    assert "data-before" not in look(phone, furnace, STOPPED)


def test_a_log_that_does_not_hold_what_was_cut_gives_no_curve(phone: Browser, furnace: Scripted, data: Path) -> None:
    with scribe_of(data) as scribe:
        scribe.put([opened(1, heat_number="A-086"), *samples(5), closed(5000)])
    page = look(phone, furnace, CAME_BACK)
    assert "data-before" not in page
    assert "No firing is on." in said(page)


def test_metal_that_is_solid_for_certain_is_drawn_so(phone: Browser, furnace: Scripted) -> None:
    solid = {
        **CAME_BACK["aftermath"],
        "metal": {"state": "solid", "sentence": "What is in the pot is solid.", "solid_in_s": 0.0},
        "do_not": ["Do not add charge on a frozen pot: metal shut in under it can spit when it melts."],
    }
    over = {**CAME_BACK["headline"], "after": "proved. Out for 42 min."}
    page = look(phone, furnace, CAME_BACK, aftermath=solid, may_be_liquid=False, headline=over)
    assert "What is in the pot is solid." in page
    assert "may be liquid" not in said(page)
    assert '<b class="said">solid</b>' in page


def test_an_outage_that_nobody_can_time_is_at_least_so_long(phone: Browser, furnace: Scripted) -> None:
    lasted = {"s": 90.0, "at_least": True, "words": "at least 2 min: the computer's clock cannot say how long"}
    page = said(look(phone, furnace, CAME_BACK, aftermath={**CAME_BACK["aftermath"], "lasted": lasted}))
    assert "It was away at least 2 min" in page


def test_nothing_of_it_is_left_after_the_reset(phone: Browser, furnace: Scripted) -> None:
    look(phone, furnace, CAME_BACK)
    page = said(look(phone, furnace, STOPPED))
    assert "came back" not in page
    assert "Do not add charge" not in page


def test_a_trip_that_says_keep_away_asks_who_looked_and_what_was_seen(phone: Browser, furnace: Scripted) -> None:
    page = look(phone, furnace, TRIPPED, reset_needs=["found", "looked", "seen"], commands=commands("reset"))
    assert "Who looked at the furnace" in page
    assert "What was seen there" in page
    phone.post("/reset", data={"found": "welded tips", "looked": "Ada", "seen": "contactor changed"})
    asked = furnace.asked[-1]
    assert isinstance(asked, Reset)
    assert (asked.found, asked.looked, asked.seen) == ("welded tips", "Ada", "contactor changed")
    assert "Who looked" not in look(phone, furnace, TRIPPED, reset_needs=["found"], commands=commands("reset"))
