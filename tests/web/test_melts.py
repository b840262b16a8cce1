"""Past firings on the page: the list, one melt, and the table of its samples."""

from pathlib import Path

from tests.web.conftest import Browser
from tests.web.kept import chamber_c, keep_firings
from tests.web.looking import said
from tests.web.scripted import Scripted


def test_the_list_names_every_firing_and_how_it_ended(phone: Browser, furnace: Scripted, data: Path) -> None:
    keep_firings(data)
    page = said(phone.get("/melts").text)
    assert page.index("A-097") < page.index("A-096")
    assert "2 firings in the log" in page


def test_one_melt_has_its_closing_results(phone: Browser, furnace: Scripted, data: Path) -> None:
    keep_firings(data)
    page = said(phone.get("/melts/1").text)
    assert "A-096 was ended by a watch: sensor open." in page
    assert "peak 500 °C" in page


def test_a_firing_without_closing_record_shows_what_its_samples_say(
    phone: Browser, furnace: Scripted, data: Path
) -> None:
    keep_firings(data)
    page = said(phone.get("/melts/2").text)
    assert "without its closing record" in page or "is running now" in page
    assert f"peak {chamber_c(1800):.0f} °C" in page


def test_there_is_no_page_for_a_firing_that_never_was(phone: Browser, furnace: Scripted, data: Path) -> None:
    keep_firings(data)
    assert phone.get("/melts/77").status_code == 404
